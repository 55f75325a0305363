import { fitHeight } from '../geometry/height-plane.js';
import { idwHeight } from '../geometry/idw.js';
import { separateSurfaces } from '../geometry/separate-surfaces.js';
import { tinHeight } from '../geometry/tin.js';
import { type Derivation, requestFrom } from './contract/measurement.js';
import { eachPlace } from './survey/location-neighbourhoods.js';
import { type Neighbourhood, type SurveyNeighbourhoodsParams, surveyNeighbourhoods } from './survey-neighbourhoods.js';

export type HeightMethod = 'plane' | 'tin' | 'idw';

/** Survey points, and how the height of the cloud is determined at them. */
export interface SurveyHeightsParams extends SurveyNeighbourhoodsParams {
  method: HeightMethod;
  /** Fewest cloud points a height may rest on. */
  minPoints: number;
}

/** Height of the cloud over a surveyed point, metres, as difference cloud minus survey; null where it cannot be determined. */
export interface SurveyHeight {
  dz: number | null;
  /** Cloud points within the radius, and those from which the height was determined. */
  found: number;
  used: number;
  /** Why there is no height; null when there is one. */
  reason: string | null;
  perPass: { pass: number; dz: number | null; n: number }[];
  /**
   * Where there are several surfaces one above another: about how far each is above the survey, metres, from below. The height is
   * that of the nearest one. Absent with one surface.
   */
  surfaces?: number[];
}

/** The height of the cloud at each survey point: one entry for each, in their order; metres. */
export const surveyHeights: Derivation<
  'survey-heights',
  typeof surveyNeighbourhoods,
  SurveyHeightsParams,
  SurveyHeight[]
> = {
  id: 'survey-heights',
  parameters: {
    points: 'required',
    radius: 'required',
    classes: 'required',
    most: 'required',
    method: 'required',
    minPoints: 'required',
  },
  from: ({ points, radius, classes, most }) => requestFrom(surveyNeighbourhoods, { points, radius, classes, most }),

  derive: (neighbourhoods, params) => eachPlace(neighbourhoods, (passes) => measureHeight(passes, params)),
};

function measureHeight(passes: Neighbourhood[], params: SurveyHeightsParams): SurveyHeight {
  const found = passes.reduce((sum, p) => sum + p.total, 0);
  const all = joinEvenly(passes);
  const surfaces = separateSurfaces(all.dx, all.dy, all.dz, all.dx.length);
  const shown = surfaces.length > 1 ? passes.map((p) => nearestSurface(p, surfaces)) : passes;
  const each = shown.map((p) => heightOf(p, params));
  const height = (params.method === 'plane' ? meanOfPasses(shown, each) : null) ?? heightOf(joinEvenly(shown), params);
  const perPass = passes.map((p, i) => ({ pass: p.pass, dz: each[i].dz, n: p.total }));
  return { ...height, found, perPass, ...(surfaces.length > 1 ? { surfaces } : {}) };
}

/** The points of a pass that are nearer to the surface at about the surveyed height than to the others above and below it. */
function nearestSurface(pass: Neighbourhood, surfaces: readonly number[]): Neighbourhood {
  const at = surfaces.reduce((best, height, i) => (Math.abs(height) < Math.abs(surfaces[best]) ? i : best), 0);
  const low = at > 0 ? (surfaces[at - 1] + surfaces[at]) / 2 : Number.NEGATIVE_INFINITY;
  const high = at + 1 < surfaces.length ? (surfaces[at] + surfaces[at + 1]) / 2 : Number.POSITIVE_INFINITY;
  const inside = (_: number, k: number) => pass.dz[k] >= low && pass.dz[k] < high;
  const dz = pass.dz.filter(inside);
  return {
    ...pass,
    dx: pass.dx.filter(inside),
    dy: pass.dy.filter(inside),
    dz,
    hash: pass.hash.filter(inside),
    total: pass.dz.length === 0 ? 0 : Math.round((pass.total * dz.length) / pass.dz.length),
  };
}

/** Share of the points that must belong to passes with a plane of their own before planes are averaged over passes. */
const CARRIED = 0.9;

/**
 * Mean of the passes' own planes, weighted by their points: what one plane through all of them would give, but each pass
 * robust in itself. Where passes disagree, a robust plane through all would take the smaller pass for outliers and throw
 * away part of it. Null when too much of the cloud belongs to passes with too few points for a plane.
 */
function meanOfPasses(passes: Neighbourhood[], each: OneHeight[]): OneHeight | null {
  let points = 0;
  let carried = 0;
  let used = 0;
  let sum = 0;
  for (let i = 0; i < passes.length; i++) {
    const { dz } = each[i];
    points += passes[i].total;
    if (dz === null) continue;
    carried += passes[i].total;
    used += each[i].used;
    sum += passes[i].total * dz;
  }
  return carried > 0 && carried >= CARRIED * points ? { dz: sum / carried, used, reason: null } : null;
}

interface Points {
  dx: Float64Array;
  dy: Float64Array;
  dz: Float64Array;
}

/**
 * Points of all passes together. Where one pass was too dense to be kept whole, every pass is reduced to the same share of its points:
 * a kept sample holds the smallest hashes, so cutting all at the smallest ceiling leaves each pass its true weight.
 */
function joinEvenly(passes: Neighbourhood[]): Points {
  const ceiling = passes.reduce((least, p) => Math.min(least, p.ceiling ?? 0xffffffff), Number.POSITIVE_INFINITY);
  const dx: number[] = [];
  const dy: number[] = [];
  const dz: number[] = [];
  for (const p of passes) {
    for (let k = 0; k < p.dx.length && p.hash[k] <= ceiling; k++) {
      dx.push(p.dx[k]);
      dy.push(p.dy[k]);
      dz.push(p.dz[k]);
    }
  }
  return { dx: Float64Array.from(dx), dy: Float64Array.from(dy), dz: Float64Array.from(dz) };
}

type OneHeight = Pick<SurveyHeight, 'dz' | 'used' | 'reason'>;

function heightOf({ dx, dy, dz }: Points, { method, minPoints, radius }: SurveyHeightsParams): OneHeight {
  const n = dx.length;
  if (n === 0) return { dz: null, used: 0, reason: `no cloud point within ${radius} m` };
  if (n < minPoints)
    return { dz: null, used: n, reason: `only ${n} cloud points within ${radius} m, ${minPoints} needed` };
  if (method === 'tin') {
    const tin = tinHeight(dx, dy, dz, n);
    return tin
      ? { dz: tin.height, used: 3, reason: null }
      : { dz: null, used: 0, reason: 'the point lies outside the triangles of the cloud points' };
  }
  if (method === 'idw') {
    const idw = idwHeight(dx, dy, dz, n, { minPoints });
    return idw
      ? { dz: idw.height, used: idw.used, reason: null }
      : { dz: null, used: 0, reason: 'too few cloud points' };
  }
  const fit = fitHeight(dx, dy, dz, n, { minPoints });
  if (!fit) return { dz: null, used: 0, reason: 'no plane fits the cloud points' };
  if (fit.quadrants < 3) return { dz: null, used: fit.used, reason: 'cloud points lie on one side of the point only' };
  return { dz: fit.height, used: fit.used, reason: null };
}

import { fileAt, passLabel } from '../../delivery/delivery.js';
import type { SurveyPoint } from '../../delivery/survey-points.js';
import { zoneByName } from '../../delivery/zones.js';
import { polygonIndexOf } from '../../geometry/polygon-index.js';
import { median } from '../../geometry/statistics.js';
import type { HeightMethod, SurveyHeight } from '../../measure/survey-heights.js';
import type { JudgeContext, Location, SurveyPointLine } from '../contract/check.js';
import type { DrawnPoint } from './survey-views.js';

/** A survey point against the cloud in height. */
export interface HeightResidual {
  point: SurveyPoint;
  height: SurveyHeight;
  /** Cloud minus survey, metres; null where the cloud has no height. */
  dz: number | null;
  /** Whether this point counts: a check point on the surface and in the zone that are judged. */
  judged: boolean;
  /** A check point in vegetation inside the zone, judged or not: what a statement of vegetated accuracy rests on. */
  vegetated: boolean;
  blunder: boolean;
}

/** The residual of one survey point, and whether it counts. */
export function heightResidual(
  point: SurveyPoint,
  height: SurveyHeight,
  r: { zone?: string; surface: 'hard' | 'vegetated' | 'any' },
  context: JudgeContext,
): HeightResidual {
  const zone = r.zone === undefined ? null : zoneByName(context.delivery, r.zone);
  const inside = zone === null || polygonIndexOf(zone.polygons).holds(point.x, point.y);
  const counts = point.role === 'check' && inside;
  const judged = counts && (r.surface === 'any' || point.surface === r.surface);
  const vegetated = counts && point.surface === 'vegetated';
  return { point, height, dz: height.dz, judged, vegetated, blunder: false };
}

/** Marks points beyond the limit (metres) both from zero and from the median: an offset of the whole cloud makes no single point a blunder. */
export function markHeightBlunders(tested: readonly HeightResidual[], limit: number): HeightResidual[] {
  if (tested.length === 0) return [];
  const middle = median(tested.map((r) => r.dz!));
  for (const r of tested) r.blunder = Math.abs(r.dz!) > limit && Math.abs(r.dz! - middle) > limit;
  return tested.filter((r) => r.blunder);
}

/** A residual as the rules of likely causes take it, with that of each pass. */
export function toldHeight(
  { point: { id, x, y, z }, dz, blunder, height }: HeightResidual,
  { delivery }: JudgeContext,
) {
  const perPass = height.perPass.flatMap(({ pass, dz }) =>
    dz === null ? [] : [{ pass: passLabel(delivery, pass), dz }],
  );
  return { id, x, y, z, dz: dz!, blunder, perPass };
}

/** A residual as a point to be drawn. */
export function drawnHeight({ point, height, dz }: HeightResidual, index: number): DrawnPoint {
  return { point, index, size: dz === null ? null : Math.abs(dz), found: height.found };
}

function statusOf(r: HeightResidual, context: JudgeContext): SurveyPointLine['status'] {
  if (r.blunder) return 'blunder';
  if (r.dz !== null) return 'used';
  return r.height.found === 0 && fileAt(context.delivery, r.point.x, r.point.y) === null ? 'outside' : 'no-data';
}

/** Line of the report's own table of survey points. */
export function heightLine(r: HeightResidual, method: HeightMethod, context: JudgeContext): SurveyPointLine {
  const { id, role, x, y, z } = r.point;
  return {
    id,
    role,
    x,
    y,
    z,
    dz: r.dz,
    ...(r.height.surfaces ? { surfaces: r.height.surfaces } : {}),
    n: r.height.found,
    method,
    perPass: r.height.perPass.map(({ pass, dz, n }) => ({ pass: passLabel(context.delivery, pass), dz, n })),
    status: statusOf(r, context),
  };
}

/** A survey point as a place to look at; the value is its residual. */
export function heightPlace(r: HeightResidual, note: string, context: JudgeContext): Location {
  const { id, x, y, z } = r.point;
  const file = fileAt(context.delivery, x, y);
  const several = r.height.surfaces ? `; nearest of ${r.height.surfaces.length} surfaces, one above another` : '';
  return { x, y, z, ...(file ? { file } : {}), value: r.dz, unit: 'm', note: `${id}: ${note}${several}` };
}

/** The places of the five largest residuals. */
export function largestHeights(used: readonly HeightResidual[], context: JudgeContext): Location[] {
  return [...used]
    .sort((a, b) => Math.abs(b.dz!) - Math.abs(a.dz!) || (a.point.id < b.point.id ? -1 : 1))
    .slice(0, 5)
    .map((r) => heightPlace(r, 'cloud minus survey', context));
}

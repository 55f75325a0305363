import { fitHeight, type HeightFit } from '../geometry/height-plane.js';
import { fitTarget, type TargetFit, type TargetOptions, type TargetRefusal } from '../geometry/target-fit.js';
import { radiusOf, type TargetKind } from '../geometry/target-shapes.js';
import { type Derivation, requestFrom } from './contract/measurement.js';
import { type TargetNeighbourhood, targetNeighbourhoods } from './target-neighbourhoods.js';

/** Survey targets, and how they are searched. */
export interface TargetFitsParams {
  /** World metres of each target as surveyed, its kind and its size in metres. */
  targets: { x: number; y: number; z: number; kind: TargetKind; size: number }[];
  /** How far from its surveyed place a target is looked for, metres. */
  search: number;
  /** Share of the scatter of brightness that a target must explain. */
  minFit: number;
  most: number;
}

/** A target found in the cloud, as difference cloud minus survey in metres; null where it was not. */
export interface TargetFound {
  dx: number | null;
  dy: number | null;
  dz: number | null;
  /** Standard deviations of the place, metres. */
  xStd: number | null;
  yStd: number | null;
  /** Share of its paint that is missing; 0 where the target is not worn, null where it was not found. */
  missing: number | null;
  /** Share of the brightness explained, 0 to 1; of the best likeness where the target was refused. */
  fit: number | null;
  /** Direction of the target's first axis, degrees counter-clockwise from east; null for a disc. */
  angle: number | null;
  /** Cloud points near the target, and those the fit rests on. */
  found: number;
  used: number;
  /** Why there is none; null when it was found. */
  reason: string | null;
  perPass: { pass: number; dx: number | null; dy: number | null; fit: number | null; n: number }[];
}

/** Room around target and search that belongs to the sample: the ground about the target. */
const ROOM = 1.5;
/** Points farther from the plane than this many of its RMS, and than a centimetre, belong to something else. */
const OFF_PLANE = 3;
const LEAST_OFF = 0.01;

/** Horizontal radius within which the cloud is kept around a target, metres. */
export function targetRadius(kind: TargetKind, size: number, search: number): number {
  return search + ROOM * radiusOf(kind, size) + (kind === 'corner' ? 0.6 * size : 0);
}

/** Survey targets located in the cloud by their brightness on the plane of the ground around them. One entry for each target, in their order. */
export const targetFits: Derivation<'target-fits', typeof targetNeighbourhoods, TargetFitsParams, TargetFound[]> = {
  id: 'target-fits',
  parameters: { targets: 'required', search: 'required', minFit: 'required', most: 'required' },
  from: ({ targets, search, most }) =>
    requestFrom(targetNeighbourhoods, {
      targets: targets.map(({ x, y, z, kind, size }) => ({ x, y, z, radius: targetRadius(kind, size, search) })),
      most,
    }),

  derive({ same, of }, params) {
    const known = new Map<string, TargetFound>();
    return params.targets.map((target, i) => {
      const key = `${same[i]} ${target.kind} ${target.size}`;
      const found = known.get(key) ?? findTarget(of(i), target, params);
      known.set(key, found);
      return found;
    });
  },
};

function findTarget(
  passes: readonly TargetNeighbourhood[],
  { kind, size }: TargetFitsParams['targets'][number],
  { search, minFit }: TargetFitsParams,
): TargetFound {
  const found = passes.reduce((sum, p) => sum + p.total, 0);
  const none = (reason: string, fit: number | null = null): TargetFound => ({
    dx: null,
    dy: null,
    dz: null,
    xStd: null,
    yStd: null,
    missing: null,
    fit,
    angle: null,
    found,
    used: 0,
    reason,
    perPass: passes.map(({ pass, total }) => ({ pass, dx: null, dy: null, fit: null, n: total })),
  });
  if (found === 0) return none('no cloud point near the target');
  const plane = planeOf(passes);
  if (!plane) return none('no plane fits the cloud around the target');
  const layers = passes.map((pass) => layOut(pass, plane));
  const joined = join(layers);
  if (!joined) return none('the points of the cloud have no intensities that differ');
  const options: TargetOptions = { search, minFit };
  const whole = fitTarget(kind, size, joined.u, joined.v, joined.value, joined.value.length, options);
  const each = layers.map((layer) => (layer ? fitAlone(layer, kind, size, whole, options) : null));
  const perPass = passes.map(({ pass, total }, i) => {
    const one = each[i];
    if (!one || 'refused' in one) return { pass, dx: null, dy: null, fit: one?.fit ?? null, n: total };
    const place = onGround(plane, one.pose.x, one.pose.y);
    return { pass, dx: place[0], dy: place[1], fit: one.fit, n: total };
  });
  if (!('refused' in whole)) {
    const [dx, dy, dz] = onGround(plane, whole.pose.x, whole.pose.y);
    const { xStd, yStd, missing, fit, used } = whole;
    return { dx, dy, dz, xStd, yStd, missing, fit, angle: degreesOf(kind, whole), found, used, reason: null, perPass };
  }
  // Passes that do not agree blur the target; each may still show it clearly.
  const clear = each.filter((one) => one !== null && !('refused' in one)) as TargetFit[];
  if (clear.length === 0) return { ...none(whole.refused, whole.fit), perPass };
  const mean = (pick: (fit: TargetFit) => number) => clear.reduce((sum, one) => sum + pick(one), 0) / clear.length;
  const [dx, dy, dz] = onGround(
    plane,
    mean((one) => one.pose.x),
    mean((one) => one.pose.y),
  );
  const spread = (pick: (fit: TargetFit) => number) => Math.sqrt(mean((one) => pick(one) ** 2) / clear.length);
  return {
    dx,
    dy,
    dz,
    xStd: spread((one) => one.xStd),
    yStd: spread((one) => one.yStd),
    missing: mean((one) => one.missing),
    fit: mean((one) => one.fit),
    angle: degreesOf(kind, clear[0]),
    found,
    used: clear.reduce((sum, one) => sum + one.used, 0),
    reason: null,
    perPass,
  };
}

/** The pass alone, from where all passes together have the target, or by a search of its own. */
function fitAlone(
  layer: Layer,
  kind: TargetKind,
  size: number,
  whole: TargetFit | TargetRefusal,
  options: TargetOptions,
): TargetFit | TargetRefusal {
  const start = 'refused' in whole ? undefined : whole.pose;
  return fitTarget(kind, size, layer.u, layer.v, layer.value, layer.value.length, { ...options, start });
}

function degreesOf(kind: TargetKind, { pose }: TargetFit): number | null {
  return kind === 'disc' ? null : (pose.angle * 180) / Math.PI;
}

/** A plane and the axes in it: u runs in the direction of x, v square to it. */
interface GroundPlane {
  height: number;
  limit: number;
  slopeX: number;
  slopeY: number;
  u: readonly [number, number, number];
  v: readonly [number, number, number];
}

function planeOf(passes: readonly TargetNeighbourhood[]): GroundPlane | null {
  const all = (pick: (n: TargetNeighbourhood) => Float64Array) =>
    Float64Array.from(passes.flatMap((p) => [...pick(p)]));
  const [dx, dy, dz] = [all((n) => n.dx), all((n) => n.dy), all((n) => n.dz)];
  const fit: HeightFit | null = fitHeight(dx, dy, dz, dz.length);
  if (!fit || fit.quadrants < 3) return null;
  const { slopeX: a, slopeY: b } = fit;
  const lengthU = Math.sqrt(1 + a * a);
  const lengthN = Math.sqrt(1 + a * a + b * b);
  const u = [1 / lengthU, 0, a / lengthU] as const;
  const n = [-a / lengthN, -b / lengthN, 1 / lengthN] as const;
  const v = [n[1] * u[2] - n[2] * u[1], n[2] * u[0] - n[0] * u[2], n[0] * u[1] - n[1] * u[0]] as const;
  return { height: fit.height, limit: Math.max(OFF_PLANE * fit.rms, LEAST_OFF), slopeX: a, slopeY: b, u, v };
}

/** Points of one pass on the plane, with their brightness about its mean in standard deviations. */
interface Layer {
  u: Float64Array;
  v: Float64Array;
  value: Float64Array;
}

function layOut(pass: TargetNeighbourhood, plane: GroundPlane): Layer | null {
  const u: number[] = [];
  const v: number[] = [];
  const value: number[] = [];
  for (let i = 0; i < pass.dx.length; i++) {
    const [x, y, z] = [pass.dx[i], pass.dy[i], pass.dz[i] - plane.height];
    if (Math.abs(z - plane.slopeX * x - plane.slopeY * y) > plane.limit) continue;
    u.push(x * plane.u[0] + y * plane.u[1] + z * plane.u[2]);
    v.push(x * plane.v[0] + y * plane.v[1] + z * plane.v[2]);
    value.push(pass.intensity[i]);
  }
  const n = value.length;
  const mean = value.reduce((sum, w) => sum + w, 0) / n;
  const deviation = Math.sqrt(value.reduce((sum, w) => sum + (w - mean) ** 2, 0) / n);
  if (!(deviation > 0)) return null;
  return {
    u: Float64Array.from(u),
    v: Float64Array.from(v),
    value: Float64Array.from(value, (w) => (w - mean) / deviation),
  };
}

/** All passes together, point by point in turn, so that the first points are a fair sample of every pass. */
function join(layers: readonly (Layer | null)[]): Layer | null {
  const some = layers.filter((layer) => layer !== null);
  if (some.length === 0) return null;
  const order: [number, number, number][] = [];
  some.forEach((layer, l) => {
    for (let i = 0; i < layer.value.length; i++) order.push([(i + 0.5) / layer.value.length, l, i]);
  });
  order.sort((p, q) => p[0] - q[0] || p[1] - q[1]);
  const pick = (of: (layer: Layer) => Float64Array) => Float64Array.from(order, ([, l, i]) => of(some[l])[i]);
  return { u: pick((l) => l.u), v: pick((l) => l.v), value: pick((l) => l.value) };
}

/** World offsets of a place on the plane. */
function onGround(plane: GroundPlane, u: number, v: number): [number, number, number] {
  const x = u * plane.u[0] + v * plane.v[0];
  const y = u * plane.u[1] + v * plane.v[1];
  return [x, y, plane.height + plane.slopeX * x + plane.slopeY * y];
}

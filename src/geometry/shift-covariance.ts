import { chiSquareCdf } from './distributions.js';

/** Numbers in either precision. */
type Numbers = Float64Array | Float32Array;

/** What a covariance of a shift is computed from. All lists have an entry for each distance, used or not. */
export interface ShiftScatter {
  /** Unit vectors, three entries a distance. */
  normals: Numbers;
  /** 1 for the distances that the shift was solved from. */
  inUse: Uint8Array;
  residuals: Float64Array;
  /** Variance of each distance from the noise of the points; square of the unit of the distances. */
  variances: Numbers;
  /** Residuals beyond it were left out; infinite where none were. */
  limit: number;
  /** Position along the road, any origin; undefined: all distances are taken as independent. */
  along?: Float64Array;
  /** Length of the shortest sections of the road, unit of `along`. */
  section?: number;
}

/** Fewest sections of the road for which a variance between sections is estimated. */
const LEAST_SECTIONS = 6;
/** Sections that must carry a direction, in effect, before its own variance between sections counts. */
const LEAST_BEARING = 2.5;

/** Beyond so many standard deviations nothing is left out of normal noise. */
const FAR = 6;
/** Steps of the table of `keptEffect` for one standard deviation. */
const STEPS = 32;
/** Least effect of a distance: with a smaller one the solution would depend on which distances are left out and on little else. */
const LEAST_EFFECT = 0.1;

/**
 * Covariance of a shift that was solved by ordinary least squares from distances of unequal variance v, in the basis of the
 * solved directions: N^-1 (sum v b n n^T) N^-1 with N = sum b n n^T. The effect b, 1 where nothing was left out, is that of a residual limit:
 * noise that reaches the limit is cut off, and the solution follows what is left. To this are added:
 *
 * - a variance factor for each direction, where the residuals r are larger than the variances explain (rough surfaces):
 *   sum c^2 r^2 / sum c^2 v b with c = n . direction, never below 1;
 * - what a slow change of the shift along the road adds. The shift of a section of the road has the variance t^2 about the mean,
 *   estimated from the sums of c r by section, as a variance component by the method of moments; never below 0. Section k
 *   carries the share w_k of the solution, which adds t^2 sum w_k^2. Heights are seen from where the vehicle drives, along all
 *   of the K sections, and the mean over these is what is asked for: they get back the part d_z^2 t^2 / K. Walls show the
 *   vehicle's errors elsewhere on its way, and get back nothing. Sections of several lengths are tried and the largest
 *   addition counts: long ones hide a quick change, short ones are not independent under a slow one.
 *
 * Sources: covariance from residuals (P. J. Huber 1967, H. White 1980), by clusters (K.-Y. Liang and S. L. Zeger 1986), mean
 * after leaving out (F. R. Hampel and others, Robust Statistics, 1986); variance factor and variance components as in textbooks of
 * least squares adjustment. All from memory.
 *
 * @param directions solved directions, unit vectors: eigenvectors of the normal matrix
 * @returns the covariance, row by row, one row a direction; square of the unit of the distances
 */
export function shiftCovariance(scatter: ShiftScatter, directions: readonly (readonly number[])[]): Float64Array {
  const used = usedDistances(scatter, directions);
  const { count, cosines, effects, variances, residuals } = used;
  const size = directions.length;
  const values = cosines.map((c) => {
    let sum = 0;
    for (let i = 0; i < count; i++) sum += effects[i] * c[i] * c[i];
    return sum;
  });
  const covariance = new Float64Array(size * size);
  for (let k = 0; k < size; k++) {
    for (let l = 0; l <= k; l++) {
      let sum = 0;
      for (let i = 0; i < count; i++) sum += variances[i] * cosines[k][i] * cosines[l][i];
      covariance[k * size + l] = sum / (values[k] * values[l]);
    }
  }
  const factors = cosines.map((c, k) => {
    let squares = 0;
    for (let i = 0; i < count; i++) squares += (c[i] * residuals[i]) ** 2;
    const explained = covariance[k * size + k] * values[k] ** 2;
    return explained > 0 ? Math.max(1, squares / explained) : 1;
  });
  for (let k = 0; k < size; k++) {
    for (let l = 0; l <= k; l++) {
      covariance[k * size + l] *= Math.sqrt(factors[k] * factors[l]);
      covariance[l * size + k] = covariance[k * size + l];
    }
  }
  const slow = slowVariances(used, directions, values, factors, scatter.section);
  for (let k = 0; k < size; k++) covariance[k * size + k] += slow[k];
  return covariance;
}

/** The used distances, packed. */
interface Used {
  count: number;
  /** By direction, the cosine between each normal and the direction. */
  cosines: Float64Array[];
  effects: Float64Array;
  /** Variances of the residuals: those of the distances, cut off at the limit. */
  variances: Float64Array;
  residuals: Float64Array;
  along: Float64Array | null;
}

function usedDistances(scatter: ShiftScatter, directions: readonly (readonly number[])[]): Used {
  const { normals, inUse, limit, along } = scatter;
  let count = 0;
  for (const one of inUse) count += one;
  const used: Used = {
    count,
    cosines: directions.map(() => new Float64Array(count)),
    effects: new Float64Array(count),
    variances: new Float64Array(count),
    residuals: new Float64Array(count),
    along: along ? new Float64Array(count) : null,
  };
  for (let i = 0, at = 0; i < inUse.length; i++) {
    if (!inUse[i]) continue;
    const variance = scatter.variances[i];
    used.effects[at] = keptEffect(limit / Math.sqrt(variance));
    used.variances[at] = variance * used.effects[at];
    used.residuals[at] = scatter.residuals[i];
    if (along) used.along![at] = along[i];
    directions.forEach((d, k) => {
      used.cosines[k][at] = normals[3 * i] * d[0] + normals[3 * i + 1] * d[1] + normals[3 * i + 2] * d[2];
    });
    at++;
  }
  return used;
}

let effectTable: Float64Array | null = null;

/**
 * Variance of a standard normal variate that is left out beyond +-c, 1 - 2 c phi(c) / P with P = P(|x| <= c). It is also the effect that such a
 * variate keeps on a mean which is solved again after leaving out: the mean of n has the variance 1 / (n P effect).
 */
export function keptEffect(c: number): number {
  if (!(c < FAR)) return 1;
  effectTable ??= Float64Array.from({ length: FAR * STEPS + 2 }, (_, step) => {
    const at = step / STEPS;
    if (at === 0) return 0;
    const density = Math.exp((-at * at) / 2) / Math.sqrt(2 * Math.PI);
    return 1 - (2 * at * density) / chiSquareCdf(at * at, 1);
  });
  const step = Math.floor(c * STEPS);
  const part = c * STEPS - step;
  return Math.max(LEAST_EFFECT, effectTable[step] * (1 - part) + effectTable[step + 1] * part);
}

/** For each direction, the variance that slow changes along the road add; zeros where positions or sections are missing. */
function slowVariances(
  used: Used,
  directions: readonly (readonly number[])[],
  values: readonly number[],
  factors: readonly number[],
  section: number | undefined,
): Float64Array {
  const largest = new Float64Array(directions.length);
  const { along, count } = used;
  if (along === null || section === undefined) return largest;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < count; i++) {
    low = Math.min(low, along[i]);
    high = Math.max(high, along[i]);
  }
  const sectionOf = new Int32Array(count);
  for (let i = 0; i < count; i++) sectionOf[i] = Math.floor((along[i] - low) / section);
  for (let length = section; ; length *= 2) {
    const room = Math.floor((high - low) / length) + 1;
    if (!(room >= LEAST_SECTIONS)) return largest;
    const found = directions.map(([, , up], k) => changeAlong(used, k, values[k], factors[k], up, { sectionOf, room }));
    const own = found.filter((one) => one.bearing >= LEAST_BEARING);
    // A direction that one or two walls carry cannot show its own changes: those of the other directions are taken.
    const mean = own.length > 0 ? own.reduce((sum, { variance }) => sum + variance, 0) / own.length : 0;
    found.forEach(({ bearing, variance, share }, k) => {
      largest[k] = Math.max(largest[k], (bearing >= LEAST_BEARING ? variance : mean) * share);
    });
    // Two sections become one: half a quotient is exact, so this is the section that division would give.
    for (let i = 0; i < count; i++) sectionOf[i] >>= 1;
  }
}

/**
 * Variance of the shift of a section along direction k, the share of it that the solution has, and how many sections carry
 * the direction in effect. `value`: sum of the effects, `factor`: variance factor, `up`: height of the direction.
 */
function changeAlong(
  { count, cosines, effects, variances, residuals }: Used,
  k: number,
  value: number,
  factor: number,
  up: number,
  { sectionOf, room }: { sectionOf: Int32Array; room: number },
): { variance: number; share: number; bearing: number } {
  const weight = new Float64Array(room);
  const score = new Float64Array(room);
  const noise = new Float64Array(room);
  const seen = new Uint8Array(room);
  const cosine = cosines[k];
  for (let i = 0; i < count; i++) {
    const at = sectionOf[i];
    const c = cosine[i];
    weight[at] += effects[i] * c * c;
    score[at] += c * residuals[i];
    noise[at] += c * c * variances[i] * factor;
    seen[at] = 1;
  }
  let [sections, squares, noiseOfAll] = [0, 0, 0];
  for (let at = 0; at < room; at++) {
    sections += seen[at];
    squares += (weight[at] / value) ** 2;
    noiseOfAll += noise[at];
  }
  let excess = 0;
  let scale = 0;
  for (let at = 0; at < room; at++) {
    // Expectation of the squared sum: the residuals contain the error of the solution, with the opposite sign.
    const share = weight[at] / value;
    excess += score[at] ** 2 - noise[at] * (1 - 2 * share) - share * share * noiseOfAll;
    scale += weight[at] ** 2 * (1 - 2 * share + squares);
  }
  return {
    variance: scale > 0 ? Math.max(0, excess / scale) : 0,
    share: Math.max(0, squares - up ** 2 / sections),
    bearing: 1 / squares,
  };
}

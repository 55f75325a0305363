import { Random } from './random.js';
import type { Street } from './street.js';
import { groundHeight, toWorld } from './street.js';

/** A point of the survey, world metres to 1 mm, and the exact height of the surface there. */
export interface SurveyedPoint {
  id: string;
  role: 'check' | 'control';
  x: number;
  y: number;
  z: number;
  surface: 'hard' | 'vegetated';
  /** Height of the surface without the error of the survey. */
  truth: number;
}

/** Options of a simulated survey of check and control points. */
export interface SurveyOptions {
  count: number;
  role: 'check' | 'control';
  /** Letters in front of the number: CP01, CP02 ... */
  prefix: string;
  /** Part of the street covered, in its own frame. Stay away from kerbs: 0.8 m leaves room for a local plane. */
  uFrom: number;
  uTo: number;
  vFrom: number;
  vTo: number;
  /** Standard deviation of the surveyed height, metres; 0 leaves only the rounding to 1 mm. */
  sigma: number;
  /** Points of an earlier call to keep 1 m away from. */
  apartFrom?: readonly SurveyedPoint[];
  /** Places where no point may be. */
  barred?: (x: number, y: number) => boolean;
  seed: number;
}

/** Points spread over the carriageway: one at random in each of `count` equal parts, at least 1 m from each other. */
export function surveyPoints(street: Street, options: SurveyOptions): SurveyedPoint[] {
  const random = new Random(options.seed);
  const { count, uFrom, uTo, vFrom, vTo } = options;
  const rows = Math.max(1, Math.round(Math.sqrt((count * (vTo - vFrom)) / (uTo - uFrom))));
  const columns = Math.ceil(count / rows);
  const points: SurveyedPoint[] = [];
  const free = (x: number, y: number) =>
    !options.barred?.(x, y) &&
    [...points, ...(options.apartFrom ?? [])].every((other) => Math.hypot(other.x - x, other.y - y) >= 1);
  for (let k = 0; k < count; k++) {
    // Spread over all parts even when there are a few more parts than points.
    const part = Math.floor((k * rows * columns) / count);
    const column = Math.floor(part / rows);
    const row = part % rows;
    for (let attempt = 0; ; attempt++) {
      if (attempt === 10_000) throw new Error('no room for the survey points asked for');
      const anywhere = attempt >= 50;
      const u = uFrom + (anywhere ? random.uniform() : (column + random.between(0.15, 0.85)) / columns) * (uTo - uFrom);
      const v = vFrom + (anywhere ? random.uniform() : (row + random.between(0.15, 0.85)) / rows) * (vTo - vFrom);
      const [wx, wy] = toWorld(street, u, v);
      const x = Math.round(wx * 1000) / 1000;
      const y = Math.round(wy * 1000) / 1000;
      if (!free(x, y)) continue;
      const truth = groundHeight(street, u, v);
      const z = Math.round((truth + options.sigma * random.normal()) * 1000) / 1000;
      const id = `${options.prefix}${String(points.length + 1).padStart(2, '0')}`;
      points.push({ id, role: options.role, x, y, z, surface: 'hard', truth });
      break;
    }
  }
  return points;
}

/** The survey as CSV: id, easting, northing, height (three decimals), role, surface. */
export function surveyCsv(points: readonly SurveyedPoint[]): string {
  const rows = points.map((p) => [p.id, p.x.toFixed(3), p.y.toFixed(3), p.z.toFixed(3), p.role, p.surface].join());
  return `${['id,easting,northing,height,role,surface', ...rows].join('\n')}\n`;
}

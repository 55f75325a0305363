import { QUANTA_PER_METRE } from '../contract/measurement.js';
import { EDGE_FIELDS, type TileEdges } from '../tile-edges.js';

/** A vertical surface: its points are within this RMS of a horizontal line (metres), which turns from the way across by 45 degrees at most. */
const THICK = 0.02;
const STEEPEST = 1;
/** The same surface on both sides differs in direction by no more than this (5 degrees), and in place by no more than 0.2 m. */
const SAME_DIRECTION = Math.tan((5 * Math.PI) / 180);
const SAME_PLACE = 0.2;
/** Least spread of the points across the border and in height (standard deviation), shares of the depth and of the layer. */
const SPREAD = 0.15;
/** Room between the line and the sides of the cell, metres: no part of the surface is then in the next cell. */
const ROOM = 0.05;

interface Line {
  /** Where it meets the border, quanta from the corner of the cell. */
  at: number;
  slope: number;
}

/** Shift of a vertical surface along its normal, the only direction in which it shows one. */
export interface WallShift {
  /** From the lower side to the upper one, metres. */
  shift: number;
  /** The normal: its parts along the border and across it, towards the upper side; a unit vector. */
  normal: [number, number];
}

/**
 * How far vertical surfaces that cross the border in one cell are shifted: one value for each layer of height with the same
 * surface on both sides.
 * @param here, there records of the cell on the lower and on the upper side
 */
export function wallShifts(
  state: TileEdges,
  here: readonly number[],
  there: readonly number[],
  minPoints: number,
): WallShift[] {
  const shifts: WallShift[] = [];
  for (const record of here) {
    const layer = state.keys.part(record, 3);
    const other = there.find((one) => state.keys.part(one, 3) === layer);
    if (other === undefined) continue;
    const low = lineOf(state, record, minPoints);
    const high = low && lineOf(state, other, minPoints);
    if (!low || !high || Math.abs(low.slope + high.slope) > SAME_DIRECTION) continue;
    const length = Math.sqrt(1 + low.slope * low.slope);
    const shift = (high.at - low.at) / QUANTA_PER_METRE / length;
    if (Math.abs(shift) <= SAME_PLACE) shifts.push({ shift, normal: [1 / length, low.slope / length] });
  }
  return shifts;
}

/** The horizontal line through the points of a record; null where they do not form one. */
function lineOf({ records, depth, cell, layer }: TileEdges, record: number, minPoints: number): Line | null {
  const m = records.subarray(record * EDGE_FIELDS, (record + 1) * EDGE_FIELDS);
  const n = m[0];
  if (n < minPoints) return null;
  const [s, d, z] = [m[1] / n, m[2] / n, m[3] / n];
  const across = m[7] / n - d * d;
  if (across < (SPREAD * depth) ** 2 || m[9] / n - z * z < (SPREAD * layer) ** 2) return null;
  const slope = (m[5] / n - s * d) / across;
  const variance = (m[4] / n - s * s - slope * slope * across) * (n / (n - 2));
  if (!(Math.abs(slope) <= STEEPEST && variance <= (THICK * QUANTA_PER_METRE) ** 2)) return null;
  const at = s - slope * d;
  const room = ROOM * QUANTA_PER_METRE;
  const inside = (place: number) => place >= room && place <= cell - room;
  return inside(at) && inside(at + slope * depth) ? { at, slope } : null;
}

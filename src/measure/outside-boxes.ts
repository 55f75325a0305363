import type { PackedHeader } from './cells/packed-header.js';
import { packRows, visitRows } from './cells/packed-rows.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** The box of each file. */
export interface OutsideBoxesParams {
  /** By file ordinal: [min east, min north, max east, max north] in quanta, edges inside; null where a file has no box. */
  boxes: (number[] | null)[];
}

/** Points of one file against its box. */
export interface OutsideBox {
  file: number;
  points: number;
  outside: number;
  /** The point farthest out, and how far it is from the box along the worse axis; world metres. */
  worst: { x: number; y: number; distance: number } | null;
}

/** Points, points outside, distance of the worst in quanta, its east and north. */
const FIGURES = 5;
const HEADER = { id: 'outside-boxes', version: 2 } as const satisfies PackedHeader;

/** Counts by file, while they are collected. */
export interface OutsideBoxesState {
  boxes: (number[] | null)[];
  files: Map<number, Float64Array>;
}

/** Points that are outside the tile that their file is named after or listed for. */
export const outsideBoxes: Measurement<'outside-boxes', OutsideBoxesParams, OutsideBoxesState, OutsideBox[]> = {
  id: HEADER.id,
  parameters: { boxes: 'required' },
  version: HEADER.version,
  columns: () => [],
  create: ({ boxes }) => ({ boxes, files: new Map() }),
  add: addBatch,

  pack: ({ files }) => packRows(HEADER, files),

  merge(state, packed) {
    visitRows(packed, HEADER, (file, [points, outside, distance, x, y]) => {
      const f = open(state, file);
      f[0] += points;
      f[1] += outside;
      keepWorst(f, distance, x, y);
    });
  },

  finish: (state) =>
    [...state.files.keys()]
      .sort((a, b) => a - b)
      .map((file) => {
        const [points, outside, distance, x, y] = state.files.get(file)!;
        const [east, north, metres] = [x, y, distance].map((v) => v / QUANTA_PER_METRE);
        return { file, points, outside, worst: outside > 0 ? { x: east, y: north, distance: metres } : null };
      }),
};

function open(state: OutsideBoxesState, file: number): Float64Array {
  let f = state.files.get(file);
  if (!f) {
    f = new Float64Array(FIGURES);
    state.files.set(file, f);
  }
  return f;
}

/** Of points equally far out the one with the smallest coordinates is kept. */
function keepWorst(f: Float64Array, distance: number, x: number, y: number): void {
  if (distance === 0 || distance < f[2]) return;
  if (distance === f[2] && (x > f[3] || (x === f[3] && y >= f[4]))) return;
  f[2] = distance;
  f[3] = x;
  f[4] = y;
}

function addBatch(state: OutsideBoxesState, batch: MeasuredBatch): void {
  const { east, north, valid, count, withheld } = batch;
  const box = state.boxes[batch.file] ?? null;
  if (box === null || count === withheld) return;
  const f = open(state, batch.file);
  f[0] += count - withheld;
  const [x0, y0, x1, y1] = box;
  const extent = batch.box;
  if (extent[0] >= x0 && extent[1] >= y0 && extent[3] <= x1 && extent[4] <= y1) return;
  for (let i = 0; i < count; i++) {
    const x = east[i];
    const y = north[i];
    if ((x >= x0 && x <= x1 && y >= y0 && y <= y1) || valid[i] === 0) continue;
    f[1]++;
    keepWorst(f, Math.max(x0 - x, x - x1, y0 - y, y - y1), x, y);
  }
}

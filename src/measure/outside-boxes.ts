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
const MAGIC = 0x4f424f31;

/** Counts by file, while they are collected. */
export interface OutsideBoxesState {
  boxes: (number[] | null)[];
  files: Map<number, Float64Array>;
}

/** Points that are outside the tile that their file is named after or listed for. */
export const outsideBoxes: Measurement<'outside-boxes', OutsideBoxesParams, OutsideBoxesState, OutsideBox[]> = {
  id: 'outside-boxes',
  parameters: { boxes: 'required' },
  version: 1,
  columns: () => [],
  create: ({ boxes }) => ({ boxes, files: new Map() }),
  add: addBatch,

  pack(state) {
    const order = [...state.files.keys()].sort((a, b) => a - b);
    const buffer = new ArrayBuffer(16 + order.length * (1 + FIGURES) * 8);
    new Int32Array(buffer, 0, 2).set([MAGIC, order.length]);
    const rows = new Float64Array(buffer, 16);
    order.forEach((file, k) => {
      rows[k * (1 + FIGURES)] = file;
      rows.set(state.files.get(file)!, k * (1 + FIGURES) + 1);
    });
    return buffer;
  },

  merge(state, packed) {
    const [magic, files] = new Int32Array(packed, 0, 2);
    if (magic !== MAGIC) throw new RangeError('these are not packed points outside boxes');
    const rows = new Float64Array(packed, 16);
    for (let k = 0; k < files; k++) {
      const [file, points, outside, distance, x, y] = rows.subarray(k * (1 + FIGURES), (k + 1) * (1 + FIGURES));
      const f = open(state, file);
      f[0] += points;
      f[1] += outside;
      keepWorst(f, distance, x, y);
    }
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

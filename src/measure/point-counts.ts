import { KeyTable } from './cells/key-table.js';
import { headerBytes, type PackedHeader, readHeader, writeHeader } from './cells/packed-header.js';
import type { MeasuredBatch, Measurement } from './contract/measurement.js';

/** Numbers kept for each file and pass: points read, points withheld, and the extent of all of them in quanta. */
const FIGURES = 8;
const HEADER = { id: 'point-counts', version: 2 } as const satisfies PackedHeader;
const KEYS_AT = headerBytes(1);

/** Counts and extents, while they are collected. */
export interface TallyState {
  /** Keys: file, pass, 0, 0. */
  keys: KeyTable;
  figures: Float64Array;
}

/** Counts and extent of one pass in one file. */
export interface TallyRow {
  file: number;
  pass: number;
  points: number;
  withheld: number;
  /** Quanta: min east, north, up, max east, north, up of the points that are not withheld; infinite if there are none. */
  box: number[];
}

/** Points read for each file and pass, and their extent in quanta: they prove that all points of the files are part of the figures. */
export const pointCounts: Measurement<'point-counts', null, TallyState, TallyRow[]> = {
  id: HEADER.id,
  parameters: {},
  version: HEADER.version,
  columns: () => [],
  create: () => ({ keys: new KeyTable(), figures: new Float64Array(16 * FIGURES) }),

  add(state, batch) {
    const { pass, valid, east, north, up, count, file } = batch;
    if (batch.onlyPass !== null && batch.withheld === 0) {
      addWhole(state, open(state, file, batch.onlyPass) * FIGURES, batch);
      return;
    }
    let runPass = 0;
    let at = -1;
    for (let i = 0; i < count; i++) {
      if (at < 0 || pass[i] !== runPass) {
        runPass = pass[i];
        at = open(state, file, runPass) * FIGURES;
      }
      const f = state.figures;
      f[at]++;
      if (valid[i] === 0) {
        f[at + 1]++;
        continue;
      }
      if (east[i] < f[at + 2]) f[at + 2] = east[i];
      if (north[i] < f[at + 3]) f[at + 3] = north[i];
      if (up[i] < f[at + 4]) f[at + 4] = up[i];
      if (east[i] > f[at + 5]) f[at + 5] = east[i];
      if (north[i] > f[at + 6]) f[at + 6] = north[i];
      if (up[i] > f[at + 7]) f[at + 7] = up[i];
    }
  },

  pack(state) {
    const order = state.keys.sorted();
    const buffer = new ArrayBuffer(KEYS_AT + order.length * (8 + FIGURES * 8));
    writeHeader(buffer, HEADER, [order.length]);
    const keys = new Int32Array(buffer, KEYS_AT, order.length * 2);
    const figures = new Float64Array(buffer, KEYS_AT + order.length * 8);
    for (let i = 0; i < order.length; i++) {
      keys[i * 2] = state.keys.part(order[i], 0);
      keys[i * 2 + 1] = state.keys.part(order[i], 1);
      figures.set(state.figures.subarray(order[i] * FIGURES, (order[i] + 1) * FIGURES), i * FIGURES);
    }
    return buffer;
  },

  merge(state, packed) {
    const [rows] = readHeader(packed, HEADER, 1);
    const keys = new Int32Array(packed, KEYS_AT, rows * 2);
    const figures = new Float64Array(packed, KEYS_AT + rows * 8, rows * FIGURES);
    for (let i = 0; i < rows; i++) {
      const at = open(state, keys[i * 2], keys[i * 2 + 1]) * FIGURES;
      const f = state.figures;
      const g = i * FIGURES;
      f[at] += figures[g];
      f[at + 1] += figures[g + 1];
      for (let k = 2; k < 5; k++) f[at + k] = Math.min(f[at + k], figures[g + k]);
      for (let k = 5; k < 8; k++) f[at + k] = Math.max(f[at + k], figures[g + k]);
    }
  },

  finish: (state) =>
    [...state.keys.sorted()].map((row) => ({
      file: state.keys.part(row, 0),
      pass: state.keys.part(row, 1),
      points: state.figures[row * FIGURES],
      withheld: state.figures[row * FIGURES + 1],
      box: [...state.figures.subarray(row * FIGURES + 2, (row + 1) * FIGURES)],
    })),
};

/** Of a batch of one pass with nothing withheld, the count and the box are enough. */
function addWhole({ figures: f }: TallyState, at: number, { count, box }: MeasuredBatch): void {
  f[at] += count;
  for (let k = 0; k < 3; k++) {
    if (box[k] < f[at + 2 + k]) f[at + 2 + k] = box[k];
    if (box[k + 3] > f[at + 5 + k]) f[at + 5 + k] = box[k + 3];
  }
}

function open(state: TallyState, file: number, pass: number): number {
  const known = state.keys.size;
  const index = state.keys.add(file, pass, 0, 0);
  if (index === known) {
    if ((index + 1) * FIGURES > state.figures.length) {
      const grown = new Float64Array(state.figures.length * 2);
      grown.set(state.figures);
      state.figures = grown;
    }
    state.figures.fill(Number.POSITIVE_INFINITY, index * FIGURES + 2, index * FIGURES + 5);
    state.figures.fill(Number.NEGATIVE_INFINITY, index * FIGURES + 5, index * FIGURES + 8);
  }
  return index;
}

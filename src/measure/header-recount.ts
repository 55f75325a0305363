import { widenByNumbers, widenByWhole } from '../kernel/ranges.js';
import type { PackedHeader } from './cells/packed-header.js';
import { packRows, visitRows } from './cells/packed-rows.js';
import type { Measurement } from './contract/measurement.js';

/** What the points of one file really are, to hold against its header. Raw integers, as stored; withheld points count too. */
export interface Recount {
  file: number;
  points: number;
  /** min x, y, z, max x, y, z. */
  raw: number[];
  /** Points by return number 0 to 15. */
  byReturn: number[];
  /** null when no point carries a finite GPS time. */
  gps: [number, number] | null;
}

/** points, 6 raw bounds, gps min, gps max, 16 counts by return. */
const FIGURES = 25;
const HEADER = { id: 'header-recount', version: 2 } as const satisfies PackedHeader;

/** Counts and extents by file, while they are collected. */
export interface HeaderRecountState {
  files: Map<number, Float64Array>;
}

/** Counts again what the public header states: extent, points, points by return, GPS-time range. */
export const headerRecount: Measurement<'header-recount', null, HeaderRecountState, Recount[]> = {
  id: HEADER.id,
  parameters: {},
  version: HEADER.version,
  columns: () => ['returns', 'gpsTime'],
  create: () => ({ files: new Map() }),

  add(state, batch) {
    const f = open(state, batch.file);
    const { points, count } = batch;
    widenAt(f, 1, 4, (range) => widenByWhole(points.x, count, range));
    widenAt(f, 2, 5, (range) => widenByWhole(points.y, count, range));
    widenAt(f, 3, 6, (range) => widenByWhole(points.z, count, range));
    if (points.has.has('gpsTime')) widenAt(f, 7, 8, (range) => widenByNumbers(points.gpsTime, count, range));
    countReturns(points.returnNumber, count, f);
    f[0] += count;
  },

  pack: ({ files }) => packRows(HEADER, files),

  merge(state, packed) {
    visitRows(packed, HEADER, (file, g) => {
      const f = open(state, file);
      f[0] += g[0];
      for (const k of [1, 2, 3, 7]) f[k] = Math.min(f[k], g[k]);
      for (const k of [4, 5, 6, 8]) f[k] = Math.max(f[k], g[k]);
      for (let k = 9; k < FIGURES; k++) f[k] += g[k];
    });
  },

  finish: (state) =>
    [...state.files.keys()]
      .sort((a, b) => a - b)
      .map((file) => {
        const f = state.files.get(file)!;
        return {
          file,
          points: f[0],
          raw: [...f.subarray(1, 7)],
          byReturn: [...f.subarray(9, FIGURES)],
          gps: Number.isFinite(f[7]) ? [f[7], f[8]] : null,
        };
      }),
};

// Scratch of this thread.
const held: [number, number] = [0, 0];
const counts = new Int32Array(16);

/** Widens a range whose ends are at two places of the figures. */
function widenAt(f: Float64Array, low: number, high: number, widen: (range: [number, number]) => void): void {
  held[0] = f[low];
  held[1] = f[high];
  widen(held);
  f[low] = held[0];
  f[high] = held[1];
}

function countReturns(returnNumber: Uint8Array, count: number, f: Float64Array): void {
  counts.fill(0);
  for (let i = 0; i < count; i++) counts[returnNumber[i] & 15]++;
  for (let k = 0; k < 16; k++) f[9 + k] += counts[k];
}

function open(state: HeaderRecountState, file: number): Float64Array {
  let f = state.files.get(file);
  if (!f) {
    f = new Float64Array(FIGURES);
    for (const k of [1, 2, 3, 7]) f[k] = Number.POSITIVE_INFINITY;
    for (const k of [4, 5, 6, 8]) f[k] = Number.NEGATIVE_INFINITY;
    state.files.set(file, f);
  }
  return f;
}

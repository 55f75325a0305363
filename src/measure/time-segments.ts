import type { Measurement } from './contract/measurement.js';

/** The gap of GPS time after which a new segment begins. */
export interface TimeSegmentsParams {
  /** Seconds without a point that end a pass. */
  gap: number;
}

/** Segments of GPS time by file, while they are collected. */
export interface TimeSegmentsState {
  gap: number;
  /** Bin number (floor(time / gap)) -> [earliest, latest] time in it. */
  bins: Map<number, [number, number]>;
}

const MAGIC = 0x54534731;

/**
 * Start times of the passes that are separated by gaps in GPS time, seconds, ascending. Exact although only bins are kept: two times in one bin are
 * never `gap` apart, and across bins the latest of one and the earliest of the next are known.
 */
export const timeSegments: Measurement<'time-segments', TimeSegmentsParams, TimeSegmentsState, Float64Array> = {
  id: 'time-segments',
  parameters: { gap: 'required' },
  version: 1,
  columns: () => ['gpsTime'],
  create: ({ gap }) => ({ gap, bins: new Map() }),

  add(state, batch) {
    const { gpsTime } = batch.points;
    let bin = Number.NaN;
    let range: [number, number] = [0, 0];
    for (let i = 0; i < batch.count; i++) {
      if (batch.valid[i] === 0) continue;
      const t = gpsTime[i];
      const b = Math.floor(t / state.gap);
      if (b !== bin) {
        if (!Number.isFinite(b)) continue;
        bin = b;
        const known = state.bins.get(b);
        if (known) range = known;
        else {
          range = [t, t];
          state.bins.set(b, range);
        }
      }
      if (t < range[0]) range[0] = t;
      if (t > range[1]) range[1] = t;
    }
  },

  pack(state) {
    const order = [...state.bins.keys()].sort((a, b) => a - b);
    const buffer = new ArrayBuffer(16 + order.length * 24);
    new Int32Array(buffer).set([MAGIC, order.length]);
    const rows = new Float64Array(buffer, 16);
    for (let i = 0; i < order.length; i++) {
      const [low, high] = state.bins.get(order[i])!;
      rows.set([order[i], low, high], i * 3);
    }
    return buffer;
  },

  merge(state, packed) {
    const [magic, count] = new Int32Array(packed, 0, 2);
    if (magic !== MAGIC) throw new RangeError('these are not packed time segments');
    const rows = new Float64Array(packed, 16);
    for (let i = 0; i < count; i++) {
      const known = state.bins.get(rows[i * 3]);
      if (!known) {
        state.bins.set(rows[i * 3], [rows[i * 3 + 1], rows[i * 3 + 2]]);
        continue;
      }
      known[0] = Math.min(known[0], rows[i * 3 + 1]);
      known[1] = Math.max(known[1], rows[i * 3 + 2]);
    }
  },

  finish(state) {
    const starts: number[] = [];
    let last = Number.NEGATIVE_INFINITY;
    for (const bin of [...state.bins.keys()].sort((a, b) => a - b)) {
      const [low, high] = state.bins.get(bin)!;
      if (low - last >= state.gap) starts.push(low);
      last = high;
    }
    return Float64Array.from(starts);
  },
};

import type { PackedHeader } from './cells/packed-header.js';
import { packRows, visitRows } from './cells/packed-rows.js';
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

const HEADER = { id: 'time-segments', version: 2 } as const satisfies PackedHeader;

/**
 * Start times of the passes that are separated by gaps in GPS time, seconds, ascending. Exact although only bins are kept: two times in one bin are
 * never `gap` apart, and across bins the latest of one and the earliest of the next are known.
 */
export const timeSegments: Measurement<'time-segments', TimeSegmentsParams, TimeSegmentsState, Float64Array> = {
  id: HEADER.id,
  parameters: { gap: 'required' },
  version: HEADER.version,
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

  pack: ({ bins }) => packRows(HEADER, bins),

  merge({ bins }, packed) {
    visitRows(packed, HEADER, (bin, row) => {
      const known = bins.get(bin);
      if (!known) {
        bins.set(bin, [row[0], row[1]]);
        return;
      }
      known[0] = Math.min(known[0], row[0]);
      known[1] = Math.max(known[1], row[1]);
    });
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

import type { Measurement } from './contract/measurement.js';

/** Points of each class (0 to 255) and each number of returns (0 to 15), and the range of intensity, over all files. */
export interface ClassCounts {
  byClass: { class: number; points: number }[];
  byReturnCount: { returns: number; points: number }[];
  intensity: [number, number] | null;
}

const CLASSES = 256;
const RETURNS = 16;
const FIGURES = CLASSES + RETURNS + 2;

/** Number of points by class, withheld points included: a file is described as it is. */
export const classCounts: Measurement<'class-counts', null, Float64Array, ClassCounts> = {
  id: 'class-counts',
  parameters: {},
  version: 1,
  columns: () => ['classification', 'returns', 'intensity'],
  create() {
    const f = new Float64Array(FIGURES);
    f[FIGURES - 2] = Number.POSITIVE_INFINITY;
    f[FIGURES - 1] = Number.NEGATIVE_INFINITY;
    return f;
  },

  add(state, { points, count }) {
    const { classification, returnCount, intensity } = points;
    let low = state[FIGURES - 2];
    let high = state[FIGURES - 1];
    for (let i = 0; i < count; i++) {
      state[classification[i]]++;
      state[CLASSES + (returnCount[i] & 15)]++;
      if (intensity[i] < low) low = intensity[i];
      if (intensity[i] > high) high = intensity[i];
    }
    state[FIGURES - 2] = low;
    state[FIGURES - 1] = high;
  },

  pack: (state) => state.slice().buffer as ArrayBuffer,

  merge(state, packed) {
    const other = new Float64Array(packed);
    if (other.length !== FIGURES) throw new RangeError('these are not packed class counts');
    for (let k = 0; k < FIGURES - 2; k++) state[k] += other[k];
    state[FIGURES - 2] = Math.min(state[FIGURES - 2], other[FIGURES - 2]);
    state[FIGURES - 1] = Math.max(state[FIGURES - 1], other[FIGURES - 1]);
  },

  finish: (state) => ({
    byClass: [...state.subarray(0, CLASSES)]
      .map((points, c) => ({ class: c, points }))
      .filter(({ points }) => points > 0),
    byReturnCount: [...state.subarray(CLASSES, CLASSES + RETURNS)]
      .map((points, returns) => ({ returns, points }))
      .filter(({ points }) => points > 0),
    intensity: Number.isFinite(state[FIGURES - 2]) ? [state[FIGURES - 2], state[FIGURES - 1]] : null,
  }),
};

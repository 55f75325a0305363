import { CLASS_RETURN_COUNTS, countClassesAndReturns } from '../kernel/class-return-counts.js';
import type { Measurement } from './contract/measurement.js';

/** Points by class (0 to 255), by return number and by returns of the pulse (0 to 15), over all files. */
export interface ClassReturns {
  classes: { class: number; points: number }[];
  returns: { number: number; points: number }[];
  pulses: { returns: number; points: number }[];
}

const CLASSES = 256;
const RETURNS = 16;
const FIGURES = CLASS_RETURN_COUNTS;

/** Number of points by class, by return number and by number of returns, withheld points included: the delivery is described as it is. */
export const classReturns: Measurement<'class-returns', null, Float64Array, ClassReturns> = {
  id: 'class-returns',
  parameters: {},
  version: 1,
  columns: () => ['classification', 'returns'],
  create: () => new Float64Array(FIGURES),

  add(state, { points, count }) {
    const counted = countClassesAndReturns(points, count);
    for (let k = 0; k < FIGURES; k++) state[k] += counted[k];
  },

  pack: (state) => state.slice().buffer as ArrayBuffer,

  merge(state, packed) {
    const other = new Float64Array(packed);
    if (other.length !== FIGURES) throw new RangeError('these are not packed counts of classes and returns');
    for (let k = 0; k < FIGURES; k++) state[k] += other[k];
  },

  finish: (state) => ({
    classes: counts(state.subarray(0, CLASSES)).map(([k, points]) => ({ class: k, points })),
    returns: counts(state.subarray(CLASSES, CLASSES + RETURNS)).map(([k, points]) => ({ number: k, points })),
    pulses: counts(state.subarray(CLASSES + RETURNS)).map(([k, points]) => ({ returns: k, points })),
  }),
};

function counts(figures: Float64Array): [number, number][] {
  return [...figures.entries()].filter(([, points]) => points > 0);
}

import type { Shift } from '../../geometry/least-squares.js';

/**
 * Bound of a shift that no surface shows, with a probability of 95 %: 40 mm, or the largest shift along a seen direction where that is
 * larger. 40 mm is common practice for the disagreement of two passes under open sky. An axis that is tilted against the hidden
 * direction contains a part of the hidden shift, and its standard deviation is enlarged by that part of the bound.
 */
export const HIDDEN_BOUND = 0.04;
/** Half width of a 95 % interval in standard deviations. */
const COVERAGE = 1.96;

/** A shift in world coordinates, metres; null on an axis that no surface shows. */
export interface ShiftInMetres {
  shift: (number | null)[];
  std: (number | null)[];
  observable: boolean[];
  /** Directions in which the shift can be seen, with its size there. */
  directions: { direction: number[]; distance: number; std: number }[];
}

/**
 * A solved shift in metres, the gross shift that was subtracted before the solution added again.
 * Standard deviations contain what a hidden shift could add, see `HIDDEN_BOUND`.
 * @param scale metres in one unit of the distances
 * @param gross gross shift along x, y, z, metres
 */
export function shiftInMetres(solution: Shift, scale: number, gross: readonly number[]): ShiftInMetres {
  const directions = solution.directions.map(({ direction, distance, std }) => ({
    direction: [...direction],
    distance: distance * scale + direction[0] * gross[0] + direction[1] * gross[1] + direction[2] * gross[2],
    std: std * scale,
  }));
  const hidden = Math.max(HIDDEN_BOUND, ...directions.map(({ distance }) => Math.abs(distance))) / COVERAGE;
  return {
    shift: solution.shift.map((v, axis) => (v === null ? null : v * scale + gross[axis])),
    std: solution.std.map((v, axis) => (v === null ? null : Math.hypot(v * scale, solution.hidden[axis] * hidden))),
    observable: [...solution.observable],
    directions,
  };
}

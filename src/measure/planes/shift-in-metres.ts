import type { Shift } from '../../geometry/least-squares.js';

/** A shift in the world, metres; null on an axis that no surface reveals. */
export interface ShiftInMetres {
  shift: (number | null)[];
  std: (number | null)[];
  observable: boolean[];
  /** Directions in which the shift can be seen, with its size there. */
  directions: { direction: number[]; distance: number; std: number }[];
}

/**
 * A solved shift in metres, with what was taken off before it was solved.
 * @param scale metres in a unit of the distances
 * @param gross metres along x, y, z
 */
export function shiftInMetres(solution: Shift, scale: number, gross: readonly number[]): ShiftInMetres {
  return {
    shift: solution.shift.map((v, axis) => (v === null ? null : v * scale + gross[axis])),
    std: solution.std.map((v) => (v === null ? null : v * scale)),
    observable: [...solution.observable],
    directions: solution.directions.map(({ direction, distance, std }) => ({
      direction: [...direction],
      distance: distance * scale + direction[0] * gross[0] + direction[1] * gross[1] + direction[2] * gross[2],
      std: std * scale,
    })),
  };
}

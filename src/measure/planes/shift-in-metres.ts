import type { Shift } from '../../geometry/least-squares.js';

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
 * @param scale metres in one unit of the distances
 * @param gross gross shift along x, y, z, metres
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

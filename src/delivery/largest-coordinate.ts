/**
 * Largest coordinate that is measured, metres: more than twice the largest on Earth (45 500 000 m, an easting with a zone
 * number in front). Below it, positions in 0.1 mm are exact and cells of 5 cm can be numbered with 32 bits.
 */
export const FARTHEST_METRES = 1e8;

/** Whether a coordinate (metres) is larger than any on Earth, or not a number. */
export function isBeyondEarth(metres: number): boolean {
  return !(Math.abs(metres) <= FARTHEST_METRES);
}

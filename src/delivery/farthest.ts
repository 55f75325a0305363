/**
 * Farther from the origin no coordinate is measured, metres: more than twice the largest there is on Earth (45 500 000 m, an
 * easting with a zone number in front). Within it a position in 0.1 mm is exact, and cells of 5 cm can be numbered in 32 bits.
 */
export const FARTHEST_METRES = 1e8;

export function isBeyondEarth(metres: number): boolean {
  return !(Math.abs(metres) <= FARTHEST_METRES);
}

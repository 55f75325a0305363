import fc from 'fast-check';
import type { WorldPoints } from '../../src/kernel/placed-points.js';

/** A point as the loops get it: whole coordinates, pass, and whether it counts. */
export interface TestPoint {
  x: number;
  y: number;
  z: number;
  pass: number;
  valid: boolean;
}

/** Coordinates on both sides of zero, near the borders of cells, and as far off as a northing in 0.1 mm. */
const coordinate = fc.oneof(
  fc.integer({ min: -9000, max: 9000 }),
  fc.constantFrom(-2501, -2500, -1, 0, 2499, 2500),
  fc.integer({ min: 59_322_250_000, max: 59_322_260_000 }),
);

export const testPoint: fc.Arbitrary<TestPoint> = fc.record({
  x: coordinate,
  y: coordinate,
  z: fc.integer({ min: -9000, max: 9000 }),
  pass: fc.constantFrom(0, 1, 2, 65_535, -3),
  valid: fc.constantFrom(true, true, true, false),
});

export function placed(points: readonly TestPoint[]): WorldPoints {
  return {
    count: points.length,
    east: Float64Array.from(points, (p) => p.x),
    north: Float64Array.from(points, (p) => p.y),
    up: Float64Array.from(points, (p) => p.z),
    pass: Int32Array.from(points, (p) => p.pass),
    valid: Uint8Array.from(points, (p) => (p.valid ? 1 : 0)),
  };
}

/** The points, each several times over and shifted a little, so that they fill more than one strip. */
export function repeated(points: readonly TestPoint[], times: number): TestPoint[] {
  return Array.from({ length: times }, (_, k) => points.map((p) => ({ ...p, x: p.x + k, z: p.z - k }))).flat();
}

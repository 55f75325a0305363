import type { Seeded } from './seeded.js';

/** Points round a survey point at (0, 0), as offsets in metres. */
export interface Scene {
  dx: Float64Array;
  dy: Float64Array;
  dz: Float64Array;
  n: number;
}

export type Emit = (x: number, y: number, z: number) => void;

/** Collects what `draw` emits within the radius. */
export function scene(radius: number, draw: (emit: Emit) => void): Scene {
  const points: [number, number, number][] = [];
  draw((x, y, z) => {
    if (x * x + y * y <= radius * radius) points.push([x, y, z]);
  });
  return {
    dx: Float64Array.from(points, (p) => p[0]),
    dy: Float64Array.from(points, (p) => p[1]),
    dz: Float64Array.from(points, (p) => p[2]),
    n: points.length,
  };
}

/** Calls `at` for `count` places spread evenly at random over the square of half side `half`. */
export function spread(random: Seeded, half: number, count: number, at: (x: number, y: number) => void): void {
  for (let i = 0; i < count; i++) at((2 * random.uniform() - 1) * half, (2 * random.uniform() - 1) * half);
}

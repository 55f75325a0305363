/** Points around a survey point as offsets from it, metres, sorted so that the input order does not matter. */
export interface LocalPoints {
  x: Float64Array;
  y: Float64Array;
  z: Float64Array;
}

/**
 * Copies the first n points, sorted by z, then x, then y: whatever is computed from the copy is the same for any order
 * of the input. Throws RangeError when an array is shorter than n or a coordinate is not finite.
 */
export function sortPoints(dx: Float64Array, dy: Float64Array, dz: Float64Array, n: number): LocalPoints {
  checkPoints(dx, dy, dz, n);
  const order = new Uint32Array(n);
  for (let i = 0; i < n; i++) order[i] = i;
  order.sort((a, b) => dz[a] - dz[b] || dx[a] - dx[b] || dy[a] - dy[b]);
  const points = { x: new Float64Array(n), y: new Float64Array(n), z: new Float64Array(n) };
  for (let i = 0; i < n; i++) {
    points.x[i] = dx[order[i]];
    points.y[i] = dy[order[i]];
    points.z[i] = dz[order[i]];
  }
  return points;
}

/** Throws RangeError when an array is shorter than n or one of the first n coordinates is not finite. */
export function checkPoints(dx: Float64Array, dy: Float64Array, dz: Float64Array, n: number): void {
  if (!Number.isInteger(n) || n < 0 || n > dx.length || n > dy.length || n > dz.length) {
    throw new RangeError(`${n} points asked of arrays of ${dx.length}, ${dy.length} and ${dz.length}`);
  }
  for (let i = 0; i < n; i++) {
    if (!Number.isFinite(dx[i]) || !Number.isFinite(dy[i]) || !Number.isFinite(dz[i])) {
      throw new RangeError(`point ${i} is (${dx[i]}, ${dy[i]}, ${dz[i]})`);
    }
  }
}

import { expect, test } from 'vitest';
import type { Neighbourhood } from '../../src/measure/survey-neighbourhoods.js';
import { surveySamples } from '../../src/measure/survey-samples.js';

/** Points of one pass on the plane z = height + 0.1 x - 0.2 y, their hashes given. */
function pass(key: number, hashes: readonly number[], height: number, dropped: boolean): Neighbourhood {
  const dx = Float64Array.from(hashes, (h) => ((h * 37) % 100) / 100 - 0.5);
  const dy = Float64Array.from(hashes, (h) => ((h * 61) % 100) / 100 - 0.5);
  return {
    point: 0,
    pass: key,
    total: hashes.length * (dropped ? 10 : 1),
    dx,
    dy,
    dz: dx.map((x, i) => height + 0.1 * x - 0.2 * dy[i]),
    ceiling: dropped ? hashes[hashes.length - 1] : null,
    hash: Uint32Array.from(hashes),
  };
}

const around = (passes: Neighbourhood[]) => ({ same: Int32Array.of(0), of: () => passes, all: () => passes });
const params = { points: [{ x: 0, y: 0, z: 0 }], radius: 1, classes: null, most: 100, keep: 50 };
const even = Array.from({ length: 40 }, (_, k) => 2 * k);
const odd = Array.from({ length: 80 }, (_, k) => 2 * k + 1);

test('passes are cut at the same hash, so that a dense pass keeps its weight', () => {
  const sample = surveySamples.derive(around([pass(4, even, 0.01, true), pass(9, odd, 0.01, false)]), params).at(0);
  expect(sample.passes).toEqual([4, 9]);
  expect(sample.found).toBe(400 + 80);
  // hashes 0 to 78: 40 even ones, 39 odd ones, of which 50 are kept
  const count = [0, 1].map((p) => [...sample.pass].filter((q) => q === p).length);
  expect(count).toEqual([25, 25]);
});

test('a prefix of the sample is the sample of fewer points', () => {
  const all = surveySamples.derive(around([pass(4, even, 0, false), pass(9, odd, 0, false)]), params).at(0);
  const few = surveySamples
    .derive(around([pass(4, even, 0, false), pass(9, odd, 0, false)]), { ...params, keep: 7 })
    .at(0);
  expect([...few.dx]).toEqual([...all.dx.subarray(0, 7)]);
  expect([...few.pass]).toEqual([...all.pass.subarray(0, 7)]);
});

test('the plane is that of the points', () => {
  const sample = surveySamples.derive(around([pass(4, even, 0.023, false), pass(9, odd, 0.023, false)]), params).at(0);
  expect(sample.plane?.height).toBeCloseTo(0.023, 9);
  expect(sample.plane?.slopeX).toBeCloseTo(0.1, 9);
  expect(sample.plane?.slopeY).toBeCloseTo(-0.2, 9);
});

test('a point that met no cloud has an empty sample', () => {
  const sample = surveySamples.derive(around([]), params).at(0);
  expect(sample).toMatchObject({ found: 0, passes: [], plane: null });
  expect(sample.dx).toHaveLength(0);
});

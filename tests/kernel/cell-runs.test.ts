import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { countRuns, RUN_WORDS } from '../../src/kernel/cell-runs.js';
import { countClassesAndReturns } from '../../src/kernel/class-return-counts.js';
import { placed, repeated, type TestPoint, testPoint } from './placed.js';

const keyOf = (p: TestPoint, side: number) => [Math.floor(p.x / side), Math.floor(p.y / side), p.pass].join();

describe('runs in cells', () => {
  const scene = fc.array(testPoint, { minLength: 1, maxLength: 60 });

  it('count every point that counts once, in its cell', () => {
    fc.assert(
      fc.property(
        scene,
        fc.integer({ min: 1, max: 80 }),
        fc.constantFrom(2500, 10_000, 3048),
        (points, times, side) => {
          const all = repeated(points, times);
          const expected = new Map<string, number>();
          for (const p of all.filter(({ valid }) => valid))
            expected.set(keyOf(p, side), (expected.get(keyOf(p, side)) ?? 0) + 1);
          const found = new Map<string, number>();
          countRuns(placed(all), side, (runs, count) => {
            for (let i = 0; i < count; i++) {
              const [column, row, pass, n] = runs.subarray(i * RUN_WORDS, (i + 1) * RUN_WORDS);
              const key = [column, row, pass].join();
              found.set(key, (found.get(key) ?? 0) + n);
            }
          });
          expect([...found].sort()).toEqual([...expected].sort());
        },
      ),
      { seed: 51, numRuns: 100 },
    );
  });
});

it('labels are counted one by one, however they stand', () => {
  const label = fc.tuple(fc.nat(255), fc.nat(15), fc.nat(15), fc.integer({ min: 1, max: 700 }));
  fc.assert(
    fc.property(fc.array(label, { maxLength: 12 }), (runs) => {
      const all = runs.flatMap(([c, n, r, times]) => Array.from({ length: times }, () => [c, n, r]));
      const counted = countClassesAndReturns(
        {
          classification: Uint8Array.from(all, ([c]) => c),
          returnNumber: Uint8Array.from(all, ([, n]) => n),
          returnCount: Uint8Array.from(all, ([, , r]) => r),
        },
        all.length,
      );
      const expected = new Uint32Array(288);
      for (const [c, n, r] of all) for (const at of [c, 256 + n, 272 + r]) expected[at]++;
      expect([...counted]).toEqual([...expected]);
    }),
    { seed: 53, numRuns: 100 },
  );
});

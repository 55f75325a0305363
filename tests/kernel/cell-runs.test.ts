import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { COUNT_RUN, countRuns, TIME_RUN, timeRuns } from '../../src/kernel/cell-runs.js';
import { countLabels } from '../../src/kernel/labels.js';
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
          for (const p of all.filter(({ live }) => live))
            expected.set(keyOf(p, side), (expected.get(keyOf(p, side)) ?? 0) + 1);
          const found = new Map<string, number>();
          countRuns(placed(all), side, ({ words }, count) => {
            for (let i = 0; i < count; i++) {
              const [column, row, pass, n] = words.subarray(i * COUNT_RUN.words, (i + 1) * COUNT_RUN.words);
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

  it('tell the earliest and the latest time of every cell, and leave out what is no time', () => {
    const time = fc.oneof(
      fc.double({ min: 0, max: 1e9, noNaN: true }),
      fc.constantFrom(Number.NaN, Infinity, -Infinity),
    );
    fc.assert(
      fc.property(scene, fc.array(time, { minLength: 1, maxLength: 9 }), (points, times) => {
        const all = repeated(points, 40);
        const stamps = Float64Array.from(all, (_, i) => times[i % times.length]);
        const expected = new Map<string, [number, number]>();
        all.forEach((p, i) => {
          if (!p.live || !Number.isFinite(stamps[i])) return;
          const [low, high] = expected.get(keyOf(p, 5000)) ?? [Infinity, -Infinity];
          expected.set(keyOf(p, 5000), [Math.min(low, stamps[i]), Math.max(high, stamps[i])]);
        });
        const found = new Map<string, [number, number]>();
        timeRuns(placed(all), stamps, 5000, ({ words, numbers }, count) => {
          for (let i = 0; i < count; i++) {
            const key = [...words.subarray(i * TIME_RUN.words, i * TIME_RUN.words + 3)].join();
            const [low, high] = found.get(key) ?? [Infinity, -Infinity];
            const at = i * TIME_RUN.numbers;
            found.set(key, [Math.min(low, numbers[at + TIME_RUN.low]), Math.max(high, numbers[at + TIME_RUN.high])]);
          }
        });
        expect([...found].sort()).toEqual([...expected].sort());
      }),
      { seed: 52, numRuns: 100 },
    );
  });
});

it('labels are counted one by one, however they stand', () => {
  const label = fc.tuple(fc.nat(255), fc.nat(15), fc.nat(15), fc.integer({ min: 1, max: 700 }));
  fc.assert(
    fc.property(fc.array(label, { maxLength: 12 }), (runs) => {
      const all = runs.flatMap(([c, n, r, times]) => Array.from({ length: times }, () => [c, n, r]));
      const counted = countLabels(
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

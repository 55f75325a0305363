import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { dropTimes, flushTimes, type OnTimeCells, TIME_CELL, timeCells } from '../../src/kernel/time-cells.js';
import { placed, repeated, type TestPoint, testPoint } from './placed.js';

type Times = Map<string, [number, number]>;

/** Earliest and latest time by definition. */
function reference(points: readonly TestPoint[], stamps: Float64Array, side: number): Times {
  const times: Times = new Map();
  points.forEach((p, i) => {
    if (!p.valid || !Number.isFinite(stamps[i])) return;
    const key = [Math.floor(p.x / side), Math.floor(p.y / side), p.pass].join();
    const [low, high] = times.get(key) ?? [Infinity, -Infinity];
    // There are two zeros, of which order must not choose.
    times.set(key, [Math.min(low, stamps[i] + 0), Math.max(high, stamps[i] + 0)]);
  });
  return times;
}

function collector(): { sink: OnTimeCells; times: Times } {
  const times: Times = new Map();
  const sink: OnTimeCells = ({ count, words, numbers }) => {
    for (let i = 0; i < count; i++) {
      const key = [...words.subarray(i * TIME_CELL.words, i * TIME_CELL.words + 3)].join();
      const at = i * TIME_CELL.numbers;
      const [low, high] = times.get(key) ?? [Infinity, -Infinity];
      times.set(key, [Math.min(low, numbers[at + TIME_CELL.low]), Math.max(high, numbers[at + TIME_CELL.high])]);
    }
  };
  return { sink, times };
}

const time = fc.oneof(
  fc.double({ min: -1e9, max: 1e9, noNaN: true }),
  fc.constantFrom(0, -0, Number.NaN, Infinity, -Infinity),
);
const scene = fc.array(testPoint, { minLength: 1, maxLength: 60 });
const stampsFor = (times: readonly number[], count: number) =>
  Float64Array.from({ length: count }, (_, i) => times[i % times.length]);

describe('times by cell and pass', () => {
  it('are the earliest and the latest of every cell; what is no time is left out', () => {
    fc.assert(
      fc.property(
        scene,
        fc.array(time, { minLength: 1, maxLength: 9 }),
        fc.integer({ min: 1, max: 80 }),
        fc.constantFrom(5000, 3048, 100_000),
        (points, times, again, side) => {
          const all = repeated(points, again);
          const stamps = stampsFor(times, all.length);
          const { sink, times: found } = collector();
          timeCells(placed(all), stamps, side, sink);
          flushTimes(sink);
          expect([...found].sort()).toEqual([...reference(all, stamps, side)].sort());
        },
      ),
      { seed: 52, numRuns: 150 },
    );
  });

  it('come through where every point is in a block of its own, and there are more of them than are kept', () => {
    const all = Array.from({ length: 10_001 }, (_, i) => ({
      x: i * 80_000,
      y: -i * 80_000,
      z: 0,
      pass: i % 3,
      valid: true,
    }));
    const stamps = Float64Array.from(all, (_, i) => 400_000 - i / 7);
    const { sink, times } = collector();
    timeCells(placed(all), stamps, 5000, sink);
    flushTimes(sink);
    expect(times.size).toBe(10_001);
    expect([...times].sort()).toEqual([...reference(all, stamps, 5000)].sort());
  });

  it('go to whom they belong when two take turns, and nowhere when they are dropped', () => {
    fc.assert(
      fc.property(scene, (points) => {
        const stamps = stampsFor([5, 3, 8, 1], points.length);
        const later = stamps.map((t) => t + 100);
        const [first, second, third] = [collector(), collector(), collector()];
        timeCells(placed(points), stamps, 5000, first.sink);
        timeCells(placed(points), stamps, 2500, second.sink);
        timeCells(placed(points), later, 5000, first.sink);
        timeCells(placed(points), stamps, 5000, third.sink);
        dropTimes(third.sink);
        flushTimes(second.sink);
        flushTimes(first.sink);
        const twice = Float64Array.from([...stamps, ...later]);
        expect([...first.times].sort()).toEqual([...reference([...points, ...points], twice, 5000)].sort());
        expect([...second.times].sort()).toEqual([...reference(points, stamps, 2500)].sort());
        expect(third.times.size).toBe(0);
      }),
      { seed: 54, numRuns: 60 },
    );
  });

  it('are gone when a sink fails: nothing of them comes to the next one', () => {
    const points: TestPoint[] = [{ x: 1, y: 2, z: 3, pass: 1, valid: true }];
    const failing: OnTimeCells = () => {
      throw new RangeError('no more memory');
    };
    timeCells(placed(points), Float64Array.of(5), 5000, failing);
    expect(() => flushTimes(failing)).toThrow('no more memory');
    const { sink, times } = collector();
    timeCells(placed([{ ...points[0], pass: 2 }]), Float64Array.of(6), 5000, sink);
    flushTimes(sink);
    expect([...times]).toEqual([['0,0,2', [6, 6]]]);
  });
});

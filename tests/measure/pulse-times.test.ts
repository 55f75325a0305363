import { describe, expect, it } from 'vitest';
import { type PulseTimes, pulseTimes } from '../../src/measure/pulse-times.js';
import { seeded, shuffled } from '../geometry/seeded.js';
import { measureFiles, type TestPoint } from './point-batches.js';

/** Pulses a microsecond apart, every one of `returns` returns; `lag` seconds from one return of a pulse to the next. */
function pulses(count: number, returns: number, lag: number, step = 1e-6): TestPoint[] {
  return Array.from({ length: count * returns }, (_, k) => {
    const [pulse, r] = [Math.floor(k / returns), k % returns];
    return { x: pulse * 0.001, y: r, time: 1000 + pulse * step + r * lag, of: [r + 1, returns] as const, source: 3 };
  });
}
const measure = (points: TestPoint[], most = 64, size = 1000) =>
  measureFiles(pulseTimes, { most }, [points], size) as PulseTimes;

describe('times of the returns of a pulse', () => {
  it('are equal in a sound cloud, however the points are sorted', () => {
    const sound = pulses(500, 3, 0);
    expect(measure(sound)).toEqual({ pulses: 500, unequal: 0, apart: 0, split: 0, example: null });
    expect(measure(shuffled(sound, seeded(3)), 64, 17)).toEqual({
      pulses: 500,
      unequal: 0,
      apart: 0,
      split: 0,
      example: null,
    });
  });

  it('single returns are no evidence', () => {
    expect(measure(pulses(500, 1, 0)).pulses).toBe(0);
  });

  it('are found unequal, with the first of them', () => {
    // 50 ns: 7.5 m of range there and back.
    const found = measure(shuffled(pulses(200, 2, 5e-8), seeded(4)));
    expect(found).toMatchObject({ pulses: 200, unequal: 200 });
    expect(found.example).toMatchObject({ x: 561_000, y: 5_932_000, time: 1000 });
    expect(found.example!.spread).toBeCloseTo(5e-8, 10);
  });

  it('does not mix scanners, sources and pulses of different numbers of returns', () => {
    const other = pulses(100, 2, 0).map((p) => ({ ...p, channel: 1, time: p.time! + 4e-7 }));
    const third = pulses(100, 3, 0).map((p) => ({ ...p, time: p.time! + 2e-7 }));
    expect(measure([...pulses(100, 2, 0), ...other, ...third])).toEqual({
      pulses: 300,
      unequal: 0,
      apart: 0,
      split: 0,
      example: null,
    });
  });

  it('takes incomplete pulses for nothing', () => {
    const broken = pulses(400, 3, 0).filter((_, k) => k % 9 !== 4);
    const found = measure(broken);
    expect(found.unequal).toBe(0);
    expect(found.pulses).toBe(400 - Math.floor((1200 + 4) / 9));
  });

  it('does not make one pulse of the halves of two', () => {
    // Pulses 20 microseconds apart; one loses its last return, the next its first, as at the edge of a tile.
    const cut = pulses(300, 2, 0, 2e-5).filter((_, k) => k % 10 !== 1 && k % 10 !== 2);
    const found = measure(cut);
    expect(found.unequal).toBe(0);
    expect(found.pulses).toBe(300 - 2 * 60);
    // Each first return of one and the last return of the next: in order, but 20 microseconds apart.
    expect(found).toMatchObject({ apart: 60, split: 0 });
  });

  it('counts pulses whose returns are farther apart than can be judged', () => {
    // 1,500 pulses 20 microseconds apart; the second return of every fifth carries the time 15 microseconds later.
    const late = pulses(1500, 2, 0, 2e-5).map((p, k) => (k % 10 === 1 ? { ...p, time: p.time! + 1.5e-5 } : p));
    expect(measure(late)).toMatchObject({ pulses: 1200, unequal: 0, apart: 300, split: 0 });
    // 0.255 milliseconds later there are other pulses between.
    const far = pulses(1500, 2, 0, 2e-5).map((p, k) => (k % 10 === 1 ? { ...p, time: p.time! + 2.55e-4 } : p));
    const found = measure(shuffled(far, seeded(6)));
    expect([found.pulses, found.unequal, found.apart]).toEqual([1200, 0, 0]);
    expect(found.split).toBeGreaterThan(200);
  });

  it('keeps whole moments, a bounded number of them, the same ones from any order', () => {
    const long = pulses(20_000, 2, 0, 1e-5);
    const few = measure(long, 16);
    // A moment is 1 ms: 100 pulses here; rounding of times may move one over a border.
    expect(Math.abs(few.pulses - 1600)).toBeLessThanOrEqual(16);
    expect(measure(shuffled(long, seeded(5)), 16, 333)).toEqual(few);
  });

  it('gives up a moment that no scanner could fill: all times the same', () => {
    const same = pulses(5000, 2, 0, 0);
    expect(measure(same).pulses).toBe(0);
    const state = pulseTimes.create({ most: 8 });
    expect(pulseTimes.pack(state).byteLength).toBeLessThan(100);
  });

  it('passes over times that are no numbers', () => {
    expect(measure(pulses(10, 2, 0).map((p) => ({ ...p, time: Number.NaN }))).pulses).toBe(0);
  });
});

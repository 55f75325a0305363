import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type TimeOrderRow, timeOrder } from '../../src/measure/time-order.js';
import { batchOf, measureFiles, type TestPoint } from './point-batches.js';

/** The definition, read from front to back: a point earlier than the one before of the same source and channel. */
function readThrough(points: readonly TestPoint[]): { key: string; steps: number; largest: number }[] {
  const lanes = new Map<string, { last: number; steps: number; largest: number }>();
  for (const p of points) {
    if (((p.flags ?? 0) & 4) !== 0 || !Number.isFinite(p.time)) continue;
    const key = `${p.source} ${p.channel}`;
    const lane = lanes.get(key);
    if (!lane) {
      lanes.set(key, { last: p.time!, steps: 0, largest: 0 });
      continue;
    }
    if (p.time! < lane.last) {
      lane.steps++;
      lane.largest = Math.max(lane.largest, lane.last - p.time!);
    }
    lane.last = p.time!;
  }
  return [...lanes]
    .map(([key, { steps, largest }]) => ({ key, steps, largest }))
    .sort((a, b) => (a.key < b.key ? -1 : 1));
}

const byLane = (rows: TimeOrderRow[]) =>
  rows.map(({ pass, channel, steps, largest }) => ({
    key: `${pass} ${channel}`,
    steps,
    largest: largest?.seconds ?? 0,
  }));

describe('order of times', () => {
  it('counts steps back and says where the largest leads', () => {
    const times = [1, 2, 1.5, 3, 0.5, 4];
    const found = measureFiles(
      timeOrder,
      null,
      [times.map((time, k) => ({ x: k, y: 0, time, source: 1 }))],
      2,
    ) as TimeOrderRow[];
    expect(found).toEqual([
      { file: 0, pass: 1, channel: 0, steps: 2, largest: { seconds: 2.5, x: 561_004, y: 5_932_000 } },
    ]);
  });

  it('equal times are in order, and a file without times says nothing', () => {
    const found = measureFiles(timeOrder, null, [
      [
        { x: 0, y: 0, time: 5 },
        { x: 0, y: 0, time: 5 },
      ],
    ]) as TimeOrderRow[];
    expect(found[0].steps).toBe(0);
    const state = timeOrder.create(null);
    timeOrder.add(state, batchOf([{ x: 0, y: 0 }], { columns: ['xyz'] }));
    expect(timeOrder.finish(state, null)).toEqual([]);
  });

  it('does not judge the seam of a stretch that was never read', () => {
    const state = timeOrder.create(null);
    timeOrder.add(state, batchOf([{ x: 0, y: 0, time: 9 }], { first: 0 }));
    timeOrder.add(state, batchOf([{ x: 0, y: 0, time: 1 }], { first: 2 }));
    expect(timeOrder.finish(state, null)[0].steps).toBe(0);
  });

  it('is that of reading the file from front to back, however it is split and whatever is measured first', () => {
    const point = fc.record({
      x: fc.constant(0),
      y: fc.constant(0),
      time: fc.oneof(fc.integer({ min: 0, max: 9 }), fc.constant(Number.NaN)),
      source: fc.integer({ min: 1, max: 2 }),
      channel: fc.integer({ min: 0, max: 1 }),
      flags: fc.constantFrom(0, 0, 0, 4),
    });
    fc.assert(
      fc.property(
        fc.array(point, { minLength: 1, maxLength: 60 }),
        fc.array(fc.nat(60), { maxLength: 6 }),
        fc.array(fc.nat(100), { minLength: 8, maxLength: 8 }),
        (points, cuts, order) => {
          const edges = [0, ...cuts.map((c) => c % points.length).sort((a, b) => a - b), points.length];
          const spans = edges.slice(1).map((end, k) => ({ begin: edges[k], end, turn: order[k] }));
          const merged = timeOrder.create(null);
          for (const { begin, end } of spans.filter((s) => s.end > s.begin).sort((a, b) => a.turn - b.turn)) {
            const part = timeOrder.create(null);
            timeOrder.add(part, batchOf(points.slice(begin, end), { first: begin }));
            timeOrder.merge(merged, timeOrder.pack(part));
          }
          expect(byLane(timeOrder.finish(merged, null))).toEqual(readThrough(points));
        },
      ),
      { numRuns: 300, seed: 11 },
    );
  });
});

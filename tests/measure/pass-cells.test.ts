import fc from 'fast-check';
import { expect, test } from 'vitest';
import { classReturns } from '../../src/measure/class-returns.js';
import { passCells } from '../../src/measure/pass-cells.js';
import { batchesOf, type LawPoint, lawPoint } from '../laws/batches.js';

/** Counted the slow way: world millimetres of the batches' offset, one Map entry a cell. */
function countedByHand(points: readonly LawPoint[], cell: number) {
  const cells = new Map<string, { column: number; row: number; points: number; passes: Set<number> }>();
  for (const p of points) {
    if (p.withheld) continue;
    const column = Math.floor((561_000_000 + p.x) / (cell * 1000));
    const row = Math.floor((5_932_000_000 + p.y) / (cell * 1000));
    const known = cells.get(`${column} ${row}`) ?? { column, row, points: 0, passes: new Set() };
    known.points++;
    known.passes.add(p.pass);
    cells.set(`${column} ${row}`, known);
  }
  return [...cells.values()]
    .sort((a, b) => a.row - b.row || a.column - b.column)
    .map(({ column, row, points, passes }) => ({ column, row, points, passes: [...passes].sort((a, b) => a - b) }));
}

test('cells hold the points of every pass that saw them, as a count by hand does', () => {
  fc.assert(
    fc.property(fc.array(lawPoint, { maxLength: 80 }), fc.constantFrom(1, 0.5, 2), (points, cell) => {
      const state = passCells.create({ cell });
      for (const batch of batchesOf(points, 7)) passCells.add(state, batch);
      const { column, row, points: counts, set, sets } = passCells.finish(state, { cell });
      const found = [...counts].map((n, i) => ({ column: column[i], row: row[i], points: n, passes: sets[set[i]] }));
      expect(found).toEqual(countedByHand(points, cell));
      expect(new Set(sets.map(String)).size).toBe(sets.length);
    }),
    { seed: 11, numRuns: 200 },
  );
});

test('first returns alone are counted where that is asked: return number 1, and 0 where none is given', () => {
  fc.assert(
    fc.property(fc.array(lawPoint, { maxLength: 80 }), (points) => {
      const params = { cell: 1, firstReturns: true };
      const state = passCells.create(params);
      // Batches of another size each time: what an earlier, longer one left behind does not count.
      for (const size of [17, 5]) for (const batch of batchesOf(points, size)) passCells.add(state, batch);
      const { column, row, points: counts, set, sets } = passCells.finish(state, params);
      const found = [...counts].map((n, i) => ({ column: column[i], row: row[i], points: n, passes: sets[set[i]] }));
      const first = points.filter(({ returnNumber }) => returnNumber <= 1);
      expect(found).toEqual(countedByHand(first, 1).map((cell) => ({ ...cell, points: 2 * cell.points })));
    }),
    { seed: 12, numRuns: 50 },
  );
  expect([passCells.columns({ cell: 1, firstReturns: true }), passCells.columns({ cell: 1 })]).toEqual([
    ['returns'],
    [],
  ]);
});

test('classes and returns are counted, withheld points too', () => {
  fc.assert(
    fc.property(fc.array(lawPoint, { maxLength: 60 }), (points) => {
      const state = classReturns.create(null);
      for (const batch of batchesOf(points, 9)) classReturns.add(state, batch);
      const found = classReturns.finish(state, null);
      const count = (of: (p: LawPoint) => number) => {
        const counts = new Map<number, number>();
        for (const p of points) counts.set(of(p), (counts.get(of(p)) ?? 0) + 1);
        return [...counts].sort(([a], [b]) => a - b);
      };
      expect(found.classes.map((c) => [c.class, c.points])).toEqual(count((p) => p.classification));
      expect(found.returns.map((r) => [r.number, r.points])).toEqual(count((p) => p.returnNumber));
      expect(found.pulses.map((r) => [r.returns, r.points])).toEqual(count((p) => p.returnCount));
    }),
    { seed: 12, numRuns: 100 },
  );
});

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { largestBySquare, placesOfLargest, selectRank } from '../../src/geometry/ranking.js';

it('finds what sorting everything finds, ties in order of place', () => {
  fc.assert(
    fc.property(
      fc.array(fc.integer({ min: -5, max: 5 }), { maxLength: 60 }),
      fc.integer({ min: 1, max: 12 }),
      (v, most) => {
        const sorted = [...v.keys()].sort((p, q) => v[q] - v[p] || p - q).slice(0, most);
        expect(placesOfLargest(v, most)).toEqual(sorted);
      },
    ),
    { seed: 20261126 },
  );
});

it('selects what sorting puts at a rank, those of lower rank before it', () => {
  const value = fc.oneof(fc.integer({ min: -3, max: 3 }), fc.double({ noNaN: true }));
  fc.assert(
    fc.property(fc.array(value, { minLength: 1, maxLength: 80 }), fc.nat(), (values, draw) => {
      const rank = draw % values.length;
      const scratch = Float64Array.from(values);
      const sorted = Float64Array.from(values).sort();
      expect(selectRank(scratch, rank) === sorted[rank]).toBe(true);
      for (let i = 0; i < values.length; i++) {
        if (i < rank) expect(scratch[i]).toBeLessThanOrEqual(sorted[rank]);
        else expect(scratch[i]).toBeGreaterThanOrEqual(sorted[rank]);
      }
    }),
    { seed: 20261126, numRuns: 300 },
  );
});

it('takes the largest of every square of ground, the largest first', () => {
  const coordinate = fc.integer({ min: -40, max: 40 });
  const row = fc.record({ x: coordinate, y: coordinate, value: fc.integer({ min: 0, max: 9 }) });
  fc.assert(
    fc.property(fc.array(row, { maxLength: 60 }), fc.integer({ min: 1, max: 12 }), (rows, most) => {
      const squareOf = ({ x, y }: { x: number; y: number }) => `${Math.floor(x / 25)}:${Math.floor(y / 25)}`;
      const order = [...rows.keys()].sort((p, q) => rows[q].value - rows[p].value || p - q);
      const firsts = order.filter(
        (i, rank) => !order.slice(0, rank).some((j) => squareOf(rows[i]) === squareOf(rows[j])),
      );
      const columns = { x: Float64Array.from(rows, (r) => r.x), y: Float64Array.from(rows, (r) => r.y) };
      const values = rows.map(({ value }) => value);
      expect(largestBySquare(columns, values, 25, most)).toEqual(firsts.slice(0, most));
    }),
    { seed: 20261129 },
  );
});

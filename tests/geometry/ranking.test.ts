import fc from 'fast-check';
import { expect, it } from 'vitest';
import { placesOfLargest } from '../../src/geometry/ranking.js';

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

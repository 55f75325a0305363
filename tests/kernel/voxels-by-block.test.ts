import fc from 'fast-check';
import { expect, it } from 'vitest';
import { bytesOf } from '../../src/kernel/voxel-record.js';
import { BLOCK_SIDE, cutByBlock } from '../../src/kernel/voxels-by-block.js';

/** Columns and rows on both sides of zero and of the borders of areas. */
const place = fc.oneof(
  fc.integer({ min: -3 * BLOCK_SIDE, max: 3 * BLOCK_SIDE }),
  fc.constantFrom(-BLOCK_SIDE, -1, 0, 1, BLOCK_SIDE - 1, BLOCK_SIDE, 23_729_024, -2_000_000_000),
);

it('every cube goes to its area, and to those beyond its western and southern border that need it', () => {
  const cubes = fc.array(fc.tuple(place, place), { minLength: 1, maxLength: 300 });
  fc.assert(
    fc.property(cubes, fc.integer({ min: 1, max: 20 }), fc.boolean(), (some, times, wide) => {
      const all = Array.from({ length: times }, () => some).flat();
      const each = bytesOf(wide) / 4;
      const words = new Int32Array(all.length * each);
      // The last word of each tells which one it is.
      all.forEach(([x, y], i) => {
        words.set([x, y], i * each);
        words[(i + 1) * each - 1] = i;
      });
      const expected: string[] = [];
      const goesTo = (column: number, row: number, rim: number, i: number) =>
        expected.push([column, row, rim, i].join());
      all.forEach(([x, y], i) => {
        const [column, row] = [Math.floor(x / BLOCK_SIDE), Math.floor(y / BLOCK_SIDE)];
        goesTo(column, row, 0, i);
        if (x === column * BLOCK_SIDE) goesTo(column - 1, row, 1, i);
        if (y === row * BLOCK_SIDE) goesTo(column, row - 1, 1, i);
        if (x === column * BLOCK_SIDE && y === row * BLOCK_SIDE) goesTo(column - 1, row - 1, 1, i);
      });
      const found: string[] = [];
      cutByBlock({ wide, bytes: new Uint8Array(words.buffer) }, (column, row, rim, part) => {
        for (let w = 0; w < part.length; w += each) {
          const i = part[w + each - 1];
          expect([part[w], part[w + 1]]).toEqual(all[i]);
          found.push([column, row, rim, i].join());
        }
      });
      expect(found.sort()).toEqual(expected.sort());
    }),
    { seed: 61, numRuns: 100 },
  );
});

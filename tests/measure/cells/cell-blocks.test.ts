import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BLOCK_CELLS, CellBlocks, cellInBlock } from '../../../src/measure/cells/cell-blocks.js';

const place = fc.oneof(fc.integer({ min: -40, max: 40 }), fc.integer({ min: -(2 ** 30), max: 2 ** 30 }));
const cells = fc.array(fc.tuple(place, place), { minLength: 1, maxLength: 100 });

describe('cells of the plan by block', () => {
  it('every cell has a place of its own, found again', () => {
    fc.assert(
      fc.property(cells, fc.constantFrom(0, 1), (some, layer) => {
        const blocks = new CellBlocks();
        const owner = new Map<number, string>();
        for (const [column, row] of some) {
          const at = blocks.add(column, row, layer) * BLOCK_CELLS + cellInBlock(column, row);
          const name = `${column} ${row}`;
          expect(owner.get(at) ?? name).toBe(name);
          owner.set(at, name);
        }
        for (const [column, row] of some) {
          const at = blocks.find(column, row, layer) * BLOCK_CELLS + cellInBlock(column, row);
          expect(owner.get(at)).toBe(`${column} ${row}`);
          expect(blocks.find(column, row, 2)).toBe(-1);
        }
        expect(blocks.find(2 ** 30 + 64, 0, layer)).toBe(-1);
      }),
      { seed: 81, numRuns: 150 },
    );
  });

  it('are walked by row, then column, each once', () => {
    fc.assert(
      fc.property(cells, (some) => {
        const blocks = new CellBlocks();
        const wanted = new Map<number, string>();
        for (const [column, row] of some)
          wanted.set(blocks.add(column, row) * BLOCK_CELLS + cellInBlock(column, row), `${column} ${row}`);
        const seen: [number, number][] = [];
        let all = 0;
        blocks.walk((column, row, block, cell) => {
          all++;
          if (wanted.get(block * BLOCK_CELLS + cell) === `${column} ${row}`) seen.push([column, row]);
        });
        expect(all).toBe(blocks.size * BLOCK_CELLS);
        expect(seen.length).toBe(wanted.size);
        expect(seen).toEqual([...seen].sort(([a, b], [c, d]) => b - d || a - c));
      }),
      { seed: 82, numRuns: 150 },
    );
  });
});

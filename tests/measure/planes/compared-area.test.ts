import { describe, expect, it } from 'vitest';
import { comparedArea } from '../../../src/measure/planes/compared-area.js';
import type { PairPlanes } from '../../../src/measure/planes/pair-planes.js';

/** Planes in voxels with these lower corners (column, row and level of a sub-voxel). */
function planesAt(...corners: [number, number, number][]): PairPlanes {
  return { count: corners.length, corner: Int32Array.from(corners.flat()) } as PairPlanes;
}

/** Number of a square in its block of 64 by 64. */
const at = (x: number, y: number) => y * 64 + x;

// Expected areas are counted by hand: voxels of 0.5 m, so that a square has 0.25 m² and a quarter of it 0.0625 m².
describe('compared area', () => {
  const block = { column: 2, row: -1, square: Uint16Array.of(at(0, 0), at(1, 0), at(0, 1), at(1, 1)) };
  const [x, y] = [2 * 128, -128];

  it('counts what lies under a plane, once for planes above one another', () => {
    expect(comparedArea([block], null, 0.5, null)).toEqual({ overlapArea: 1, comparedArea: 0 });
    const whole = planesAt([x, y, 0], [x, y, 6]);
    expect(comparedArea([block], whole, 0.5, null)).toEqual({ overlapArea: 1, comparedArea: 0.25 });
    // The second lattice lies half a voxel off: a quarter of each of four squares.
    expect(comparedArea([block], planesAt([x + 1, y + 1, 1]), 0.5, null).comparedArea).toBe(0.25);
    expect(comparedArea([block], planesAt([x, y, 0], [x + 1, y + 1, 1]), 0.5, null).comparedArea).toBe(0.25 + 3 / 16);
  });

  it('leaves out what only one pass has seen, and what is outside the area', () => {
    // Of the voxel over the corner of the block, one quarter lies in a square that both have seen.
    expect(comparedArea([block], planesAt([x - 1, y - 1, 1]), 0.5, null).comparedArea).toBe(1 / 16);
    const [west, south] = [2 * 32, -32];
    const outer = [west, south, west + 0.5, south, west + 0.5, south + 1, west, south + 1, west, south];
    const half = { name: 'half', margin: 0, polygons: [{ outer, holes: [] }] };
    const planes = planesAt([x, y, 0], [x + 2, y, 0]);
    expect(comparedArea([block], planes, 0.5, half)).toEqual({ overlapArea: 0.5, comparedArea: 0.25 });
  });

  it('joins the parts of a voxel across the border of two blocks', () => {
    const west = { column: 1, row: -1, square: Uint16Array.of(at(63, 0)) };
    expect(comparedArea([west, block], planesAt([x - 1, y + 1, 1]), 0.5, null).comparedArea).toBe(3 / 16);
  });
});

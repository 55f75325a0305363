import { insideArea } from '../cells/inside-area.js';
import type { MaskArea } from '../cells/zone-mask.js';
import type { PairPlanes } from './pair-planes.js';

/** Ground of a pass pair, square metres in x and y: what both passes have seen, and the part of it with a compared plane. */
export interface GroundCompared {
  overlapArea: number;
  comparedArea: number;
}

/** Squares of one block, one voxel wide, in which both passes hold points. */
export interface SharedSquares {
  /** Block, as the moments are cut. */
  column: number;
  row: number;
  /** Numbers of the squares, row by row, BLOCK_SQUARES a row. */
  square: Uint16Array;
}

/** Squares of a block each way: half as many as sub-voxels. */
const BLOCK_SQUARES = 64;
/** Sub-voxels of a block each way, as a power of two. */
const BLOCK_SHIFT = 7;
/** Bit of a square that both passes have seen; bits 0 to 3 are the sub-voxels of the square under a compared plane. */
const SEEN = 16;

/**
 * The ground that both passes have seen, in squares one voxel wide, and how much of it lies under a plane that was compared.
 * A plane covers the horizontal extent of its voxel: one square, or a quarter of each of four squares for the second lattice.
 * Planes above one another count once.
 * @param planes the planes that were compared; null for none
 * @param edge edge of a voxel, metres
 * @param area only squares with their centre inside count; null: all
 */
export function comparedArea(
  blocks: readonly SharedSquares[],
  planes: PairPlanes | null,
  edge: number,
  area: MaskArea | null,
): GroundCompared {
  const inside = insideArea(area);
  const grids = new Map<string, Uint8Array>();
  let seen = 0;
  for (const { column, row, square } of blocks) {
    const grid = new Uint8Array(BLOCK_SQUARES * BLOCK_SQUARES);
    grids.set(keyOf(column, row), grid);
    for (const at of square) {
      const x = (column * BLOCK_SQUARES + (at % BLOCK_SQUARES) + 0.5) * edge;
      const y = (row * BLOCK_SQUARES + Math.floor(at / BLOCK_SQUARES) + 0.5) * edge;
      if (!inside(x, y)) continue;
      grid[at] = SEEN;
      seen++;
    }
  }
  const quarters = planes === null ? 0 : coverSquares(grids, planes);
  return { overlapArea: seen * edge * edge, comparedArea: (quarters * edge * edge) / 4 };
}

/** Marks what planes cover. @returns number of quarters of seen squares that are covered */
function coverSquares(grids: ReadonlyMap<string, Uint8Array>, { corner, count }: PairPlanes): number {
  let covered = 0;
  let column = Number.NaN;
  let row = Number.NaN;
  let grid: Uint8Array | undefined;
  for (let i = 0; i < count; i++) {
    for (let k = 0; k < 4; k++) {
      const x = corner[i * 3] + (k & 1);
      const y = corner[i * 3 + 1] + (k >> 1);
      if (x >> BLOCK_SHIFT !== column || y >> BLOCK_SHIFT !== row) {
        column = x >> BLOCK_SHIFT;
        row = y >> BLOCK_SHIFT;
        grid = grids.get(keyOf(column, row));
      }
      if (grid === undefined) continue;
      const at = ((y >> 1) & (BLOCK_SQUARES - 1)) * BLOCK_SQUARES + ((x >> 1) & (BLOCK_SQUARES - 1));
      const quarter = 1 << ((y & 1) * 2 + (x & 1));
      if ((grid[at] & SEEN) === 0 || (grid[at] & quarter) !== 0) continue;
      grid[at] |= quarter;
      covered++;
    }
  }
  return covered;
}

function keyOf(column: number, row: number): string {
  return `${column} ${row}`;
}

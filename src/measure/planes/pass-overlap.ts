import type { BlockOutlines } from '../../kernel/voxel-block.js';
import type { KeyTable } from '../cells/key-table.js';
import type { SharedSquares } from './compared-area.js';
import { findGrossShift, outlineOfBlock, uprightOf } from './find-gross-shift.js';
import { collectPairPlanes, type PairPlanes } from './pair-planes.js';
import type { PlaneBlock } from './plane-block.js';

/** A pair of passes with fewer columns in common is not compared. */
const MIN_SHARED_COLUMNS = 4;
const MIN_GROSS_COLUMNS = 20;

/** What is kept of a block: outlines of the passes, and the planes that two of them share. */
export interface PassPairsPart {
  column: number;
  row: number;
  side: number;
  quantum: number;
  outlines: BlockOutlines;
  pairs: PairPlanes[];
}

/** What the comparison of passes needs of a block. */
export function collectPassPairs(
  area: PlaneBlock,
  { minPoints, coordinateStep = 0 }: { minPoints: number; coordinateStep?: number },
): PassPairsPart {
  const { column, row, side, quantum } = area;
  const pairs = collectPairPlanes(area, minPoints, coordinateStep);
  return { column, row, side, quantum, outlines: outlineOfBlock(area), pairs };
}

/** Two passes that overlap. */
export interface GrossPair {
  a: number;
  b: number;
  /** Whole sub-voxels by which b must be moved to meet a. */
  by: [number, number, number];
}

/** Which passes of a delivery overlap, and the planes they share. */
export interface PassOverlap {
  /** Edge of a sub-voxel in quanta of `quantum`, as in the moments. */
  side: number;
  quantum: number;
  /** Passes that hold points, ascending. */
  passes: number[];
  /** Sorted by a, then b. */
  pairs: GrossPair[];
  /** Planes that two passes share, block by block, by `pairKey`. */
  planes: Map<string, PairPlanes[]>;
  /** The squares of ground that both passes have seen, block by block, by `pairKey`. */
  squares: Map<string, SharedSquares[]>;
}

/** Adds up all blocks. */
export function gatherOverlap(parts: readonly PassPairsPart[]): PassOverlap {
  const { side, quantum } = parts[0] ?? { side: 1, quantum: 1 };
  return {
    side,
    quantum,
    passes: passesOfParts(parts),
    pairs: grossPairs(parts, side),
    planes: planesByPair(parts),
    squares: squaresByPair(parts),
  };
}

function passesOfParts(parts: readonly PassPairsPart[]): number[] {
  return [...new Set(parts.flatMap(({ outlines }) => outlines.passes))].sort((p, q) => p - q);
}

/** Every two passes that overlap, and the distance between them; sorted by a, then b. */
function grossPairs(parts: readonly PassPairsPart[], side: number): GrossPair[] {
  const outlines = parts.map((part) => part.outlines);
  const met = new Map<string, { a: number; b: number; above: Float32Array[]; columns: number }>();
  for (const { shared } of outlines) {
    for (const { a, b, above } of shared) {
      const pair = met.get(pairKey(a, b)) ?? { a, b, above: [], columns: 0 };
      pair.above.push(above);
      pair.columns += above.length;
      met.set(pairKey(a, b), pair);
    }
  }
  const tables = new Map<number, KeyTable>();
  const upright = (pass: number) => {
    const known = tables.get(pass) ?? uprightOf(outlines, pass);
    tables.set(pass, known);
    return known;
  };
  return [...met.values()]
    .filter(({ columns }) => columns >= MIN_SHARED_COLUMNS)
    .sort((p, q) => p.a - q.a || p.b - q.b)
    .map(({ a, b, above, columns }) => {
      const pair = { columns, above, upright: [upright(a), upright(b)] as const };
      return { a, b, by: findGrossShift(pair, side, MIN_GROSS_COLUMNS) };
    });
}

/** Planes that two passes share, block by block, by `pairKey`. */
export function planesByPair(parts: readonly PassPairsPart[]): Map<string, PairPlanes[]> {
  const found = new Map<string, PairPlanes[]>();
  for (const { pairs } of parts) {
    for (const pair of pairs) {
      const key = pairKey(pair.a, pair.b);
      const list = found.get(key) ?? [];
      list.push(pair);
      found.set(key, list);
    }
  }
  return found;
}

/** The squares of ground that two passes have both seen, block by block, by `pairKey`. */
export function squaresByPair(parts: readonly PassPairsPart[]): Map<string, SharedSquares[]> {
  const found = new Map<string, SharedSquares[]>();
  for (const { column, row, outlines } of parts) {
    for (const { a, b, square } of outlines.shared) {
      const key = pairKey(a, b);
      const list = found.get(key) ?? [];
      list.push({ column, row, square });
      found.set(key, list);
    }
  }
  return found;
}

/** Key of a pair of passes. */
export function pairKey(a: number, b: number): string {
  return `${a} ${b}`;
}

import { type AreaOutlines, findGrossShift, heightsShared, outlineArea, uprightOf } from './gross-shift.js';
import { collectPairPlanes, type PairPlanes } from './pair-planes.js';
import type { PlaneMoments } from './plane-moments.js';
import { areaOf, passesOf } from './voxel-lattice.js';

/** A pass pair with fewer plan columns in common than this does not overlap in any useful sense. */
const MIN_SHARED_COLUMNS = 4;
const MIN_GROSS_COLUMNS = 20;

/** What is kept of an area: outlines of the passes, and the planes that two of them share. */
export interface PassPairsPart {
  side: number;
  quantum: number;
  outlines: AreaOutlines;
  pairs: PairPlanes[];
}

/** Keeps of an area what the comparison of passes needs. */
export function collectArea(
  state: PlaneMoments,
  where: { column: number; row: number },
  { minPoints }: { minPoints: number },
): PassPairsPart {
  const area = areaOf(state, where);
  const { side, quantum } = state;
  if (!area) return { side, quantum, outlines: { passes: [], upright: [], shared: [] }, pairs: [] };
  const passes = passesOf(area);
  return { side, quantum, outlines: outlineArea(area, passes), pairs: collectPairPlanes(area, passes, minPoints) };
}

/** Two passes that overlap. */
export interface GrossPair {
  a: number;
  b: number;
  /** Whole sub-voxels by which b must be moved to meet a. */
  by: [number, number, number];
  side: number;
}

/** Passes that hold points, ascending. */
export function passesOfParts(parts: readonly PassPairsPart[]): number[] {
  return [...new Set(parts.flatMap(({ outlines }) => outlines.passes))].sort((p, q) => p - q);
}

/** Every two passes that overlap, and how far they stand off. */
export function grossPairs(parts: readonly PassPairsPart[]): GrossPair[] {
  const outlines = parts.map((part) => part.outlines);
  const passes = passesOfParts(parts);
  const upright = passes.map((pass) => uprightOf(outlines, pass));
  const found: GrossPair[] = [];
  for (let i = 0; i < passes.length; i++) {
    for (let j = i + 1; j < passes.length; j++) {
      const above = heightsShared(outlines, passes[i], passes[j]);
      const columns = above.reduce((sum, part) => sum + part.length, 0);
      if (columns < MIN_SHARED_COLUMNS) continue;
      const { side } = parts[0];
      const pair = { columns, above, upright: [upright[i], upright[j]] as const };
      found.push({ a: passes[i], b: passes[j], by: findGrossShift(pair, side, MIN_GROSS_COLUMNS), side });
    }
  }
  return found;
}

/** Planes that two passes share, area by area. */
export function planesOf(parts: readonly PassPairsPart[], a: number, b: number): PairPlanes[] {
  return parts.flatMap(({ pairs }) => pairs.filter((pair) => pair.a === a && pair.b === b));
}

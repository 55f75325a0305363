import { BoxIndex } from '../geometry/box-index.js';
import type { DeliveredFile } from './delivery.js';

/** A straight border between two adjacent files, metres. */
export interface Border {
  /** Ordinals of the file to the west or south of the border, and of the one beyond. */
  low: number;
  high: number;
  /** The coordinate that changes across the border. */
  across: 'x' | 'y';
  /** Value of that coordinate on the border, and begin and end of the border along the other coordinate. */
  at: number;
  from: number;
  to: number;
  /** Width between the two files, in which neither has a point; 0 where they adjoin within the tolerance. */
  gap: number;
}

/**
 * Borders between adjacent files, from the extents in their headers: one file ends within `tolerance` (metres) of the begin
 * of the other, and they are adjacent over at least `least` metres. The border is midway. Files whose extents overlap by
 * more than `tolerance` cover the same ground and are not adjacent. Files without a valid extent have no border.
 * @param widest files up to so far apart (metres) are adjacent too, where no other file lies between them
 */
export function findBorders(
  files: readonly DeliveredFile[],
  tolerance: number,
  least: number,
  widest = tolerance,
): Border[] {
  const farthest = Math.max(widest, tolerance);
  const boxes: FileBox[] = files
    .filter(({ header }) => header !== null && header.pointCount > 0)
    .map(({ index, header, horizontalUnit }) => ({
      index,
      min: header!.min.map((v) => v * horizontalUnit),
      max: header!.max.map((v) => v * horizontalUnit),
    }))
    .filter(({ min, max }) => [...min, ...max].every(Number.isFinite));
  const index = indexOf(boxes);
  const borders: Border[] = [];
  for (const [across, a, b] of [
    ['x', 0, 1],
    ['y', 1, 0],
  ] as const) {
    for (const low of boxes) {
      for (const at of meeting(index, a, low.max[a] - tolerance, low.max[a] + farthest, low.min[b], low.max[b])) {
        const high = boxes[at];
        const gap = high.min[a] - low.max[a];
        if (low === high || gap < -tolerance || gap > farthest) continue;
        // The second file must begin and end beyond the first: a file inside another one has no border with it.
        if (high.min[a] <= low.min[a] || high.max[a] <= low.max[a]) continue;
        const from = Math.max(low.min[b], high.min[b]);
        const to = Math.min(low.max[b], high.max[b]);
        if (to - from < least) continue;
        const isBetween = ({ min, max }: FileBox) =>
          min[a] < high.min[a] && max[a] > low.max[a] && min[b] < to && max[b] > from;
        const apart = gap > tolerance;
        if (apart && meeting(index, a, low.max[a], high.min[a], from, to).some((i) => isBetween(boxes[i]))) continue;
        const middle = (low.max[a] + high.min[a]) / 2;
        borders.push({ low: low.index, high: high.index, across, at: middle, from, to, gap: apart ? gap : 0 });
      }
    }
  }
  return borders.sort((p, q) => p.low - q.low || p.high - q.high || (p.across < q.across ? -1 : 1));
}

/** Extent of a file by its header, metres. */
interface FileBox {
  index: number;
  min: number[];
  max: number[];
}

/** The boxes by their places. A box whose ends are exchanged is found where its extent would be. */
function indexOf(boxes: readonly FileBox[]): BoxIndex {
  return new BoxIndex(
    boxes.map(({ min, max }) => ({
      minX: Math.min(min[0], max[0]),
      minY: Math.min(min[1], max[1]),
      maxX: Math.max(min[0], max[0]),
      maxY: Math.max(min[1], max[1]),
    })),
  );
}

/** Numbers of the boxes that meet a range of each axis; `a` is the axis of the first range. */
function meeting(index: BoxIndex, a: 0 | 1, fromA: number, toA: number, fromB: number, toB: number): number[] {
  return index.meeting(
    a === 0 ? { minX: fromA, maxX: toA, minY: fromB, maxY: toB } : { minX: fromB, maxX: toB, minY: fromA, maxY: toA },
  );
}

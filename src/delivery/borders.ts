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
  const boxes = files
    .filter(({ header }) => header !== null && header.pointCount > 0)
    .map(({ index, header, horizontalUnit }) => ({
      index,
      min: header!.min.map((v) => v * horizontalUnit),
      max: header!.max.map((v) => v * horizontalUnit),
    }))
    .filter(({ min, max }) => [...min, ...max].every(Number.isFinite));
  const borders: Border[] = [];
  for (const [across, a, b] of [
    ['x', 0, 1],
    ['y', 1, 0],
  ] as const) {
    for (const low of boxes) {
      for (const high of boxes) {
        const gap = high.min[a] - low.max[a];
        if (low === high || gap < -tolerance || gap > Math.max(widest, tolerance)) continue;
        // The second file must begin and end beyond the first: a file inside another one has no border with it.
        if (high.min[a] <= low.min[a] || high.max[a] <= low.max[a]) continue;
        const from = Math.max(low.min[b], high.min[b]);
        const to = Math.min(low.max[b], high.max[b]);
        if (to - from < least) continue;
        const between = boxes.some(
          ({ min, max }) => min[a] < high.min[a] && max[a] > low.max[a] && min[b] < to && max[b] > from,
        );
        if (gap > tolerance && between) continue;
        const at = (low.max[a] + high.min[a]) / 2;
        borders.push({ low: low.index, high: high.index, across, at, from, to, gap: gap > tolerance ? gap : 0 });
      }
    }
  }
  return borders.sort((p, q) => p.low - q.low || p.high - q.high || (p.across < q.across ? -1 : 1));
}

import type { Route } from '../../delivery/route.js';
import { pointAt } from '../../geometry/nearest-on-line.js';
import type { Piece } from './pieces.js';

/** Pieces of a line without a piece between them that is missing from the list. */
export interface Stretch {
  /** Name of the line. */
  line: string;
  /** Metres from the begin of the line. */
  from: number;
  to: number;
  metres: number;
  /** World coordinates of its middle, metres. */
  x: number;
  y: number;
}

/** Joins pieces that follow one another; the pieces are in the order of the route. The longest stretch first. */
export function stretchesOf(pieces: readonly Piece[], route: Route): Stretch[] {
  const stretches: { line: number; last: number; from: number; to: number }[] = [];
  for (const { line, index, from, to } of pieces) {
    const open = stretches[stretches.length - 1];
    if (open && open.line === line && open.last === index - 1) {
      open.last = index;
      open.to = to;
    } else stretches.push({ line, last: index, from, to });
  }
  return stretches
    .map(({ line, from, to }) => {
      const { x, y } = pointAt(route.lines[line], (from + to) / 2);
      return { line: route.lines[line].name, from, to, metres: to - from, x, y };
    })
    .sort((a, b) => b.metres - a.metres);
}

import { connectedComponents } from '../../geometry/components.js';
import type { SeenGround } from './distance-classes.js';

/** A connected area that was seen from far only. Square metres, and world metres of its cell that is farthest from any scanner. */
export interface FarArea {
  area: number;
  x: number;
  y: number;
  /** Distance of the nearest point in that cell, metres. */
  nearest: number;
}

/** Connected cells in which no point is nearer than `within`, the largest area first. @param cell edge of a cell, metres */
export function farAreas({ column, row, nearest }: SeenGround, within: number, cell: number): FarArea[] {
  const far: number[] = [];
  for (let i = 0; i < nearest.length; i++) if (nearest[i] > within) far.push(i);
  const columns = Int32Array.from(far, (i) => column[i]);
  const rows = Int32Array.from(far, (i) => row[i]);
  const { labels, sizes, count } = connectedComponents(columns, rows);
  const worst = new Int32Array(count).fill(-1);
  for (let k = 0; k < far.length; k++) {
    const known = worst[labels[k]];
    if (known < 0 || nearest[far[k]] > nearest[far[known]]) worst[labels[k]] = k;
  }
  return Array.from(worst, (k, label) => ({
    area: sizes[label] * cell * cell,
    x: (columns[k] + 0.5) * cell,
    y: (rows[k] + 0.5) * cell,
    nearest: nearest[far[k]],
  })).sort((a, b) => b.area - a.area || a.x - b.x || a.y - b.y);
}

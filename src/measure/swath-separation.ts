import { largestBySquare } from '../geometry/ranking.js';
import { percentile } from '../geometry/statistics.js';
import { cellHeights, type PassHeights } from './cell-heights.js';
import { insideArea } from './cells/inside-area.js';
import { KeyTable } from './cells/key-table.js';
import type { MaskArea } from './cells/zone-mask.js';
import { type Derivation, requestFrom } from './contract/measurement.js';
import type { PassPair, PassPairs } from './pass-pairs.js';

export interface SwathSeparationParams {
  /** Edge of the cells, metres: twice the cell of the elevation model by the published method. */
  cell: number;
  /** Points of each pass that a cell must hold. */
  minPoints: number;
  area?: MaskArea | null;
}

/** Steeper ground is not compared (10 degrees: USGS Lidar Base Specification). */
const MAX_SLOPE = Math.tan((10 * Math.PI) / 180);
const WORST = 10;
/** Edge of the squares of which each gives one of the largest differences, metres. */
const WORST_SQUARE = 25;

/**
 * Height differences of every pair of passes in cells, as the USGS Lidar Base Specification publishes it for swath
 * separation (2025 rev. A): last returns without noise, grouped by pass, signed, nothing clipped, ground under 10 degrees.
 * The mean height of a cell represents its surface, which the specification accepts where every cell holds points of both.
 * Shifts in plan cannot be determined this way and stay null.
 */
export const swathSeparation: Derivation<'swath-separation', typeof cellHeights, SwathSeparationParams, PassPairs> = {
  id: 'swath-separation',
  parameters: { cell: 'required', minPoints: 'required', area: 'optional' },
  from: ({ cell }) => requestFrom(cellHeights, { cell, returns: 'last' }),

  derive(passes, { cell, minPoints, area = null }) {
    const inside = insideArea(area);
    const tables = passes.map(placesOf);
    const pairs: PassPair[] = [];
    for (let i = 0; i < passes.length; i++) {
      for (let j = i + 1; j < passes.length; j++) {
        const pair = comparePair([passes[i], passes[j]], [tables[i], tables[j]], cell, minPoints, inside);
        if (pair.shared > 0) pairs.push(pair);
      }
    }
    return { voxel: cell, passes: passes.map(({ pass }) => pass), pairs };
  },
};

function placesOf({ column, row }: PassHeights): KeyTable {
  const places = new KeyTable(column.length);
  for (let i = 0; i < column.length; i++) places.add(column[i], row[i], 0, 0);
  return places;
}

function comparePair(
  [a, b]: readonly [PassHeights, PassHeights],
  [placesA, placesB]: readonly [KeyTable, KeyTable],
  cell: number,
  minPoints: number,
  inside: (x: number, y: number) => boolean,
): PassPair {
  const rows: { x: number; y: number; z: number; dz: number }[] = [];
  let shared = 0;
  let dense = 0;
  for (let i = 0; i < a.column.length; i++) {
    const j = placesB.find(a.column[i], a.row[i], 0, 0);
    if (j < 0) continue;
    const x = (a.column[i] + 0.5) * cell;
    const y = (a.row[i] + 0.5) * cell;
    if (!inside(x, y)) continue;
    shared++;
    if (a.points[i] < minPoints || b.points[j] < minPoints) continue;
    dense++;
    if (!isLevel(a, placesA, i, cell) || !isLevel(b, placesB, j, cell)) continue;
    rows.push({ x, y, z: (a.mean[i] + b.mean[j]) / 2, dz: b.mean[j] - a.mean[i] });
  }
  const dz = Float64Array.from(rows, (row) => row.dz);
  const absolute = dz.map(Math.abs);
  const map = { x: Float64Array.from(rows, (r) => r.x), y: Float64Array.from(rows, (r) => r.y), dz };
  const largest = largestBySquare(map, absolute, WORST_SQUARE, WORST);
  const some = rows.length > 0;
  let sum = 0;
  let squares = 0;
  for (const v of dz) {
    sum += v;
    squares += v * v;
  }
  return {
    a: a.pass,
    b: b.pass,
    overlapArea: shared * cell * cell,
    comparedArea: rows.length * cell * cell,
    shared,
    dense,
    planes: rows.length,
    cells: rows.length,
    rejected: 0,
    meanDz: some ? sum / dz.length : null,
    rmsDz: some ? Math.sqrt(squares / dz.length) : null,
    maxDz: some ? absolute[largest[0]] : null,
    p95Dz: some ? percentile(absolute, 95) : null,
    shift: [null, null, null],
    shiftStd: [null, null, null],
    observable: [false, false, false],
    shiftLength: null,
    directions: [],
    gross: [0, 0, 0],
    worst: largest.map((i) => rows[i]),
    map,
  };
}

/** Whether the mean heights rise by less than 10 degrees towards every neighbour, of which at least three must be there. */
function isLevel({ column, row, mean }: PassHeights, places: KeyTable, i: number, cell: number): boolean {
  let neighbours = 0;
  for (let dy = -1; dy <= 1; dy++) {
    for (let dx = -1; dx <= 1; dx++) {
      if (dx === 0 && dy === 0) continue;
      const next = places.find(column[i] + dx, row[i] + dy, 0, 0);
      if (next < 0) continue;
      neighbours++;
      if (Math.abs(mean[next] - mean[i]) > MAX_SLOPE * cell * Math.sqrt(dx * dx + dy * dy)) return false;
    }
  }
  return neighbours >= 3;
}

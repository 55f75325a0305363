import { fileAt } from '../delivery/delivery.js';
import { median } from '../geometry/statistics.js';
import { findVoidAreas, type VoidArea, type VoidAreas } from '../geometry/void-areas.js';
import type { CountedReturns, DensityGrid } from '../measure/density-grid.js';
import { cellsRequest, type JudgedCells, joinCells, judgedCells } from './cells/judged-cells.js';
import type { Check, GridEvidence, JudgeContext, Location, Requirement, State } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import type { PlacedValues } from './contract/placed-values.js';
import { area, figure, inZone, plural, undetermined } from './contract/wording.js';

export interface VoidsOptions {
  maxArea: number;
  cell?: number;
  count: CountedReturns;
}

const LISTED = 25;
/** Largest radius of a cross-section of a void, metres. */
const LARGEST_SECTION_RADIUS = 25;
/** Cells that are offered where the spec names none, metres, the largest first. */
const CELLS = [0.5, 0.25, 0.2, 0.1, 0.05];
/** A square void holds a whole empty cell, at any angle to the grid, where a cell is at most this share of its side. */
const CELL_SHARE = 1 / (2 * Math.SQRT2);
/** The same for a square void parallel to the grid. */
const AGREED_CELL_SHARE = 0.5;
/** Cells are joined to this edge at most, metres. */
const LARGEST_CELL = 8;
/**
 * Points that an occupied cell holds on average, at least. With 4 of them one cell in 55 is empty by chance (Poisson); a void of
 * the limit has 8 cells or more, and 8 empty cells side by side by chance are rarer than one in a million cells.
 */
const LEAST_MEAN_POINTS = 4;
/** An area is resolved where two standard deviations are within this share of it, or within these square metres. */
const RESOLVED_SHARE = 0.05;
const RESOLVED_AREA = 0.1;

const needs = (r: Requirement<VoidsOptions>) => ({ grid: cellsRequest(finestCell(r), r.count) });

/** The figures, and the limits they are held against. */
const metrics = {
  largestArea: metric('largest void', 'm2', atMost('maxArea')),
  count: metric('voids above the limit', 'count'),
  totalArea: metric('area of voids above the limit', 'm2'),
} satisfies Metrics;

export const voids = {
  id: 'voids',
  title: 'Data voids',
  why: 'Nothing can be measured or drawn where no point fell, and interpolation across a gap hides what is there.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'data voids',
      note: 'area of (4 x nominal pulse spacing) squared or more without a first return; water and dark surfaces excepted',
    },
  ],
  schema: {
    properties: {
      maxArea: { type: 'number', minimum: 0, description: 'Largest void that is accepted, m².' },
      cell: {
        type: 'number',
        exclusiveMinimum: 0.01,
        maximum: 100,
        description:
          'Edge of a square cell, metres. Without it: from `maxArea`, 0.5 or less, and doubled where cells would hold fewer than 4 points on average.',
      },
      count: {
        enum: ['all', 'first', 'last', 'only'],
        default: 'all',
        description: 'Returns that fill a cell: all, first, last or only (single) returns.',
      },
    },
    required: ['maxArea'],
  },
  allPoints: true,
  metrics,
  quality: 'DQ_CompletenessOmission',
  needs,

  explain: (r) =>
    `No void ${r.zone === undefined ? 'enclosed by the data' : inZone(r.zone)} may be larger than ${area(r.maxArea)}. A void is a connected area of empty cells of ${finestCell(r)} m${r.cell === undefined ? ' (larger where the points are too sparse)' : ''}, with the empty shares of the cells around it; a void narrower than two cells may not be seen.`,

  judge(facts, requirement, context) {
    const { maxArea, zone } = requirement;
    const grid = gridOf(facts.grid, requirement);
    const { cell } = grid;
    const cells = judgedCells(grid, zone, context);
    const limits = limitsOf(metrics, requirement);
    if (cells.points.length === 0) {
      return undetermined(`No complete ${cell} m cell lies ${inZone(zone)}, so voids could not be looked for.`, {
        limits,
      });
    }
    const found = findVoidAreas(cells);
    const voids = found.voids.map((v) => ({ ...v, area: v.area * cell * cell, areaStd: v.areaStd * cell * cell }));
    const large = voids.filter((v) => v.area > maxArea);
    const certain = large.filter((v) => isResolved(v) || v.area - 2 * v.areaStd > maxArea);
    const doubtful = voids.find((v) => !isResolved(v) && Math.abs(v.area - maxArea) <= 2 * v.areaStd);
    // A cell that the spec names is an agreement: it only has to fit twice into the side of a void of the limit.
    const share = requirement.cell === undefined ? CELL_SHARE : AGREED_CELL_SHARE;
    const tooCoarse = maxArea > 0 && cell > share * Math.sqrt(maxArea) * (1 + 1e-9);
    const state: State = certain.length > 0 ? 'fail' : doubtful || tooCoarse ? 'undetermined' : 'pass';
    return {
      state,
      summary: summaryOf(voids, large, requirement, state, cell),
      measured: {
        count: figure(large.length, 'count'),
        largestArea: figure(voids[0]?.area ?? 0, 'm2'),
        totalArea: figure(
          large.reduce((sum, v) => sum + v.area, 0),
          'm2',
        ),
      },
      limits,
      evidence: [
        {
          kind: 'locations',
          title: 'Voids',
          items: large.slice(0, LISTED).map((v) => locationOf(v, cell, context)),
        },
        ...voidGrid(found, large.length, maxArea, cell),
        voidsByPlace(cells, found, maxArea, cell),
      ],
      advice:
        state === 'pass'
          ? []
          : state === 'fail'
            ? [
                'Check whether a parked vehicle, water or wet asphalt explains the void; otherwise capture the place again.',
              ]
            : [
                `Voids of ${area(maxArea)} need cells of ${(CELL_SHARE * Math.sqrt(maxArea)).toFixed(2)} m or less with ${LEAST_MEAN_POINTS} points or more in each: ask for a larger limit, or for a denser cloud.`,
              ],
    };
  },
} satisfies Check<VoidsOptions, typeof needs>;

/** The cell that is measured: of the spec, or the largest one in which a void of the limit empties a cell at any angle. */
function finestCell({ cell, maxArea }: VoidsOptions): number {
  if (cell !== undefined) return cell;
  if (maxArea === 0) return CELLS[0];
  return CELLS.find((c) => c <= CELL_SHARE * Math.sqrt(maxArea)) ?? CELLS[CELLS.length - 1];
}

/** The measured cells; where the spec names no cell, joined until an occupied cell holds enough points. */
function gridOf(measured: DensityGrid, { cell }: VoidsOptions): DensityGrid {
  let grid = measured;
  // Also beyond what the limit allows: a large void is then still seen, and a pass becomes undetermined.
  while (
    cell === undefined &&
    grid.points.length > 0 &&
    grid.cell < LARGEST_CELL &&
    median(grid.points) < LEAST_MEAN_POINTS
  ) {
    grid = joinCells(grid);
  }
  return grid;
}

interface VoidInMetres extends VoidArea {
  /** Square metres. */
  area: number;
  areaStd: number;
}

function isResolved({ area, areaStd }: VoidInMetres): boolean {
  return 2 * areaStd <= Math.max(RESOLVED_SHARE * area, RESOLVED_AREA);
}

function summaryOf(
  voids: readonly VoidInMetres[],
  large: readonly VoidInMetres[],
  { maxArea, zone }: Requirement<VoidsOptions>,
  state: State,
  cell: number,
): string {
  const [first] = voids;
  const largest =
    first === undefined
      ? 'no void was found'
      : `the largest void is ${area(first.area)} ± ${area(2 * first.areaStd)} (95 %)`;
  if (state === 'undetermined') {
    return `Voids ${inZone(zone)} could not be judged: ${largest}, the limit is ${area(maxArea)}, and the cloud or the cell of ${cell} m is too coarse to tell the one from the other.`;
  }
  if (state === 'pass')
    return `${largest[0].toUpperCase()}${largest.slice(1)} ${inZone(zone)} (limit ${area(maxArea)}).`;
  return `${plural(large.length, 'void')} ${inZone(zone)} ${large.length === 1 ? 'is' : 'are'} larger than ${area(maxArea)}; ${largest}.`;
}

function locationOf(v: VoidInMetres, cell: number, context: JudgeContext): Location {
  const place = { x: v.x * cell, y: v.y * cell };
  const file = fileAt(context.delivery, place.x, place.y);
  const [width, height] = [v.width * cell, v.height * cell];
  return {
    ...place,
    ...(file ? { file } : {}),
    value: v.area,
    unit: 'm2',
    note: `void, ${width.toFixed(1)} m by ${height.toFixed(1)} m`,
    crossSectionRadius: Math.min(Math.hypot(width, height) / 2 + 1, LARGEST_SECTION_RADIUS),
  };
}

/** Every judged cell with the area of the void that it is in; 0 in none. */
function voidsByPlace(cells: JudgedCells, found: VoidAreas, maxArea: number, cell: number): PlacedValues {
  // Empty cells are in the same order in both.
  let k = 0;
  const value = Float64Array.from(cells.points, (points) =>
    points === 0 ? found.voids[found.void[k++]].area * cell * cell : 0,
  );
  return {
    kind: 'placed-values',
    title: 'largest void',
    statistic: 'worst',
    unit: 'm2',
    limit: maxArea,
    sense: 'at-most',
    cell,
    sets: [{ name: 'largest void', places: cells, value }],
  };
}

/** The empty cells of the voids above the limit, which are the first `count`, each with the area of its void. */
function voidGrid(found: VoidAreas, count: number, maxArea: number, cell: number): GridEvidence[] {
  const large = [...found.void.keys()].filter((k) => found.void[k] < count);
  if (large.length === 0) return [];
  return [
    {
      kind: 'grid',
      title: 'Voids above the limit',
      unit: 'm2',
      cell,
      cells: {
        column: Int32Array.from(large, (k) => found.column[k]),
        row: Int32Array.from(large, (k) => found.row[k]),
        value: Float64Array.from(large, (k) => found.voids[found.void[k]].area * cell * cell),
      },
      limit: maxArea,
      sense: 'at-most',
      signed: false,
    },
  ];
}

import { vehicleTrack } from '../delivery/vehicle-track.js';
import { largestKnown } from '../geometry/ranking.js';
import { fact } from '../measure/fact-types.js';
import type { RangeCells } from '../measure/range-cells.js';
import { maskArea } from './cells/mask-area.js';
import type { Check, JudgeContext, Requirement } from './contract/check.js';
import { atLeast, atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { area, figure, inZone, length, percent, undetermined } from './contract/wording.js';
import { coordinateStep } from './passes/coordinate-step.js';
import {
  addCells,
  addDifferences,
  addPatches,
  Classes,
  cellsInside,
  DistanceMap,
  densityReached,
  type RangeClass,
  rmsDzOf,
  rmsOf,
  seenGround,
} from './vehicle/distance-classes.js';
import { farAreas } from './vehicle/far-areas.js';
import {
  densitySeries,
  distanceHistogram,
  distanceTable,
  farPlaces,
  incidenceTable,
  nearestGrid,
} from './vehicle/range-evidence.js';
import { rangeSchema } from './vehicle/range-schema.js';
import { holdRange, type RangeFigures, type RangeLimits } from './vehicle/range-verdict.js';

export interface RangeOptions extends RangeLimits {
  bin: number;
  cell: number;
  voxel: number;
  minPoints: number;
  leverForward: number;
  leverLeft: number;
  leverUp: number;
}

/** Distance that no scanner of a vehicle has, metres: nothing is counted as beyond it. */
const NO_LIMIT = 100_000;

const needs = (r: Requirement<RangeOptions>, context: JudgeContext) => {
  const { trajectory } = context.delivery;
  const known = trajectory !== null && trajectory.drives.length > 0;
  const lever = [r.leverForward, r.leverLeft, r.leverUp] as const;
  const { cell, voxel, minPoints, maxRange = NO_LIMIT } = r;
  const surfaces = known && (r.maxRms !== undefined || r.maxSteepShare !== undefined);
  return {
    cells: known ? fact('range-cells', { cell, limit: maxRange, track: vehicleTrack(trajectory, lever) }) : undefined,
    surfaces: surfaces ? fact('pass-surfaces', { voxel, minPoints }) : undefined,
    compared:
      known && r.maxRmsDz !== undefined
        ? fact('pass-pairs', {
            voxel,
            minPoints,
            coordinateStep: coordinateStep(context.delivery),
            area: maskArea(context, r.zone),
          })
        : undefined,
  };
};

/** The figures, and the limits they are held against. */
const metrics = {
  farShare: metric('points beyond the largest range', 'share', atMost('maxFarShare')),
  farArea: metric('largest area seen from far only', 'm2', atMost('maxFarArea')),
  density: metric('density that 90 % of the near ground reaches', 'points/m2', atLeast('minDensity')),
  rms: metric('RMS about planes, worst class of distance', 'm', atMost('maxRms')),
  rmsDz: metric('RMS dz, worst class of distance', 'm', atMost('maxRmsDz')),
  steepShare: metric('level patches seen beyond the largest incidence', 'share', atMost('maxSteepShare')),
  placedShare: metric('points with a position of the vehicle', 'share', atLeast('minPlacedShare')),
  farthest: metric('farthest class of distance begins at', 'm'),
  points: metric('points', 'count'),
} satisfies Metrics;

export const range = {
  id: 'range',
  title: 'Distance and angle of capture',
  why: 'Errors of attitude grow with distance and points become sparse: what was seen from far only looks complete on a map, and is neither dense nor accurate.',
  sources: [
    {
      standard: 'Korea, rules for HD road maps, notice 2023-4338',
      clause: 'article 17, annex 2.1',
      note: 'density within 10 m of the path, resurvey where more than 10 % of the area fails (transcript read); scanner range of 30 m or more (read)',
    },
    {
      standard: 'IAPRS XXXVIII-3/W8 (2009), influence of the incidence angle',
      note: 'beyond 60 degrees from the normal the angle dominates the precision (abstract read)',
    },
    {
      standard: 'common practice',
      note: 'classes of slant distance; no public limit of distance for vehicles was found',
    },
  ],
  schema: rangeSchema,
  metrics,
  quality: 'DQ_RelativeInternalPositionalAccuracy',
  allPoints: true,
  sideFiles: () => ['trajectory'],
  needs,

  explain: (r) =>
    `Distances are measured from the scanner at the time of each point${r.zone ? ` in zone ${r.zone}` : ''}, after the trajectory: ${[
      r.maxRange !== undefined && r.maxFarShare !== undefined
        ? `at most ${percent(r.maxFarShare)} of the points may be farther than ${r.maxRange} m`
        : '',
      r.captureWithin !== undefined && r.maxFarArea !== undefined
        ? `no connected area larger than ${area(r.maxFarArea)} may have all its points from beyond ${r.captureWithin} m`
        : '',
      r.minDensity !== undefined
        ? `90 % of the ground seen from within ${r.densityWithin} m must reach ${r.minDensity} points/m2`
        : '',
      r.maxRms !== undefined
        ? `in no class of ${r.bin} m may the RMS of points about level planes exceed ${length(r.maxRms)}`
        : '',
      r.maxRmsDz !== undefined
        ? `in no class of ${r.bin} m may the RMS height difference of passes exceed ${length(r.maxRmsDz)}`
        : '',
      r.maxSteepShare !== undefined
        ? `at most ${percent(r.maxSteepShare)} of the level patches may be seen at more than ${r.maxIncidence} degrees from the normal`
        : '',
    ]
      .filter((part) => part !== '')
      .join(', and ')}.`,

  judge({ cells, surfaces, compared }, r, context) {
    const limits = limitsOf(metrics, r);
    if (cells === undefined)
      return undetermined(
        context.delivery.trajectory?.problem ??
          'The delivery has no trajectory, so distances from the scanner are not known.',
        { limits, advice: ['Give the trajectory of the vehicle with --trajectory.'] },
      );
    const inside = cellsInside(cells, r.cell, r.zone, context);
    const [points, beyond, unplaced] = (['points', 'beyond', 'unplaced'] as const).map((name) => sum(inside, name));
    if (points === 0)
      return undetermined(
        unplaced === 0
          ? `No point with a GPS time lies ${inZone(r.zone)}.`
          : 'No point was taken at a time at which the trajectory has a position.',
        { limits, advice: ['The times of the trajectory and of the points must be in one system, and overlap.'] },
      );
    const distances = new DistanceMap(cells, r.cell);
    const byDistance = new Classes(r.bin);
    addCells(byDistance, inside);
    const byAngle = new Classes(ANGLES);
    if (surfaces) {
      addPatches(byDistance, surfaces, r.zone, context, (pass, x, y) => distances.distance(pass, x, y));
      addPatches(byAngle, surfaces, r.zone, context, (pass, x, y) => distances.incidence(pass, x, y));
    }
    if (compared) addDifferences(byDistance, compared.pairs, distances);
    const ground = seenGround(inside, r.densityWithin);
    const far = r.captureWithin === undefined ? [] : farAreas(ground, r.captureWithin, r.cell);
    const steep = new Classes(r.maxIncidence);
    if (surfaces) addPatches(steep, surfaces, r.zone, context, (pass, x, y) => distances.incidence(pass, x, y));
    const found: RangeFigures = {
      farShare: r.maxRange === undefined ? null : beyond / points,
      farArea: r.captureWithin === undefined ? null : (far[0]?.area ?? 0),
      density: densityReached(ground, r.cell),
      rms: largestKnown(byDistance.list.map((one) => rmsOf(one, r.minCells))),
      rmsDz: largestKnown(byDistance.list.map((one) => rmsDzOf(one, r.minCells))),
      steepShare: steepShareOf(steep.list, r.minCells),
      placedShare: points / (points + unplaced),
    };
    const { state, summary } = holdRange(found, r, byDistance.list);
    return {
      state,
      summary,
      measured: {
        ...Object.fromEntries(
          Object.entries(found).flatMap(([name, value]) =>
            value === null && !(name in limits)
              ? []
              : [[name, figure(value, metrics[name as keyof RangeFigures].unit)]],
          ),
        ),
        farthest: figure(byDistance.list.at(-1)?.from ?? null, 'm'),
        points: figure(points, 'count'),
      },
      limits,
      evidence: [
        { kind: 'locations', title: 'Areas seen from far only', items: farPlaces(far, context) },
        distanceTable(byDistance.list, r),
        ...incidenceTable(byAngle.list, r.minCells),
        distanceHistogram(byDistance.list, r.maxRange),
        densitySeries(inside, r.bin, r.cell, context),
        nearestGrid(ground, r.cell, r.captureWithin),
      ],
      advice:
        found.placedShare < 1
          ? ['Points outside the trajectory have no distance: see whether all drives were delivered.']
          : [],
    };
  },
} satisfies Check<RangeOptions, typeof needs>;

/** Classes of the angle of incidence, degrees. */
const ANGLES = 10;

function sum(passes: readonly RangeCells[], name: 'points' | 'beyond' | 'unplaced'): number {
  return passes.reduce((all, pass) => pass[name].reduce((total, n) => total + n, all), 0);
}

function steepShareOf([flat, ...steep]: readonly RangeClass[], least: number): number | null {
  const beyond = steep.reduce((all, { patches }) => all + patches, 0);
  const all = beyond + (flat?.patches ?? 0);
  return all < least ? null : beyond / all;
}

import { fileAt } from '../delivery/delivery.js';
import { zoneByName } from '../delivery/zones.js';
import { polygonIndexOf } from '../geometry/polygon-index.js';
import { fact } from '../measure/fact-types.js';
import type { VoxelCounts } from '../measure/voxel-counts.js';
import type { Check, GridCells, Location, Requirement } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, inZone, percent, plural, undetermined } from './contract/wording.js';

export interface IsolatedPointsOptions {
  maxShare: number;
  voxel: number;
  minNeighbours: number;
  noise: number[];
}

const LISTED = 25;

const needs = ({ voxel, noise }: Requirement<IsolatedPointsOptions>) => ({
  voxels: fact('voxel-counts', { voxel, without: noise }),
});

/** The figures, and the limits they are held against. */
const metrics = {
  share: metric('share of isolated points', 'share', atMost('maxShare')),
  points: metric('isolated points', 'count'),
} satisfies Metrics;

export const isolatedPoints = {
  id: 'isolated-points',
  title: 'Isolated points',
  why: 'Birds, rain, multipath and sun glare leave single points in the air or under the ground that spoil surfaces and clearances.',
  sources: [{ standard: 'common practice', note: 'too few neighbours in a voxel and the 26 around it' }],
  schema: {
    properties: {
      maxShare: { type: 'number', minimum: 0, maximum: 1, description: 'Largest share of isolated points, 0 to 1.' },
      voxel: { type: 'number', minimum: 0.05, maximum: 100, default: 1, description: 'Edge of the voxels, metres.' },
      minNeighbours: {
        type: 'integer',
        minimum: 1,
        default: 3,
        description: 'A point with fewer other points than this in its voxel and the 26 voxels around it is isolated.',
      },
      noise: {
        type: 'array',
        items: { type: 'integer', minimum: 0, maximum: 255 },
        uniqueItems: true,
        default: [7, 18],
        description:
          'Classes that are noise: their points are known to be, and neither count nor are neighbours of others.',
      },
    },
    required: ['maxShare'],
  },
  allPoints: true,
  metrics,
  quality: 'DQ_CompletenessCommission',
  needs,

  explain: ({ maxShare, voxel, minNeighbours, noise, zone }) =>
    `At most ${percent(maxShare)} of the points ${inZone(zone)}${noise.length === 0 ? '' : ` that are not of class ${noise.join(' or ')}`} may be isolated: fewer than ${minNeighbours} other points in their voxel of ${voxel} m and the 26 voxels around it.`,

  judge({ voxels }, requirement, { delivery }) {
    const { maxShare, voxel, minNeighbours, zone: zoneName } = requirement;
    const { x, y, z, points, around } = voxels;
    const limits = limitsOf(metrics, requirement);
    const zone = zoneName === undefined ? null : polygonIndexOf(zoneByName(delivery, zoneName).polygons);
    let total = 0;
    let isolated = 0;
    const places: number[] = [];
    for (let i = 0; i < points.length; i++) {
      // A voxel belongs to a zone when its middle does.
      if (zone && !zone.holds((x[i] + 0.5) * voxel, (y[i] + 0.5) * voxel)) continue;
      total += points[i];
      if (around[i] - 1 >= minNeighbours) continue;
      isolated += points[i];
      places.push(i);
    }
    if (total === 0) return undetermined('No point was read, so isolated ones could not be looked for.', { limits });
    const share = isolated / total;
    places.sort((a, b) => around[a] - around[b] || a - b);
    const items = places.slice(0, LISTED).map((i): Location => {
      const place = { x: (x[i] + 0.5) * voxel, y: (y[i] + 0.5) * voxel };
      const file = fileAt(delivery, place.x, place.y);
      const note = `${plural(points[i], 'point')}, ${plural(around[i] - points[i], 'other')} in the voxels around`;
      return { ...place, z: (z[i] + 0.5) * voxel, ...(file ? { file } : {}), value: points[i], unit: 'count', note };
    });
    const pass = share <= maxShare;
    return {
      state: pass ? 'pass' : 'fail',
      summary: `${plural(isolated, 'point')} of ${total.toLocaleString('en-GB')} (${(share * 100).toPrecision(2)} %) ${isolated === 1 ? 'is' : 'are'} isolated (accepted: ${percent(maxShare)}).`,
      measured: { points: figure(isolated, 'count'), share: figure(share, 'share') },
      limits,
      evidence: [
        { kind: 'locations', title: 'Isolated points', items },
        {
          kind: 'grid',
          title: 'Isolated points',
          unit: 'count',
          cell: voxel,
          cells: horizontalCells(voxels, places),
          signed: false,
        },
      ],
      advice: pass
        ? []
        : [
            'Filter the noise and flag it (class 7 or 18, or withheld), rather than leaving it among the other classes.',
          ],
    };
  },
} satisfies Check<IsolatedPointsOptions, typeof needs>;

/** Isolated points of all heights together, by the square of ground they are in. */
function horizontalCells({ x, y, points }: VoxelCounts, places: readonly number[]): GridCells {
  const sums = new Map<string, { column: number; row: number; value: number }>();
  for (const i of places) {
    const key = `${x[i]} ${y[i]}`;
    const known = sums.get(key);
    if (known) known.value += points[i];
    else sums.set(key, { column: x[i], row: y[i], value: points[i] });
  }
  const cells = [...sums.values()];
  return {
    column: Int32Array.from(cells, ({ column }) => column),
    row: Int32Array.from(cells, ({ row }) => row),
    value: Float64Array.from(cells, ({ value }) => value),
  };
}

import type { DeliveryFacts } from '../delivery/delivery.js';
import { Fault } from '../fault.js';
import { QUANTA_PER_METRE } from '../measure/contract/measurement.js';
import { fact } from '../measure/fact-types.js';
import type { OutsideBox } from '../measure/outside-boxes.js';
import type { TallyRow } from '../measure/point-counts.js';
import type { Check, Evidence, JudgeContext, Location, Requirement } from './contract/check.js';
import { limitsOf, type Metrics, metric, NONE_ALLOWED } from './contract/metric.js';
import { figure, length, plural, undetermined } from './contract/wording.js';
import { type FileExtent, type Overlap, overlapsOf } from './tiles/tile-grid.js';
import { tileNames } from './tiles/tile-names.js';
import { schemeOf, type TileOptions, type TileScheme } from './tiles/tile-scheme.js';

export type TilingOptions = Omit<TileOptions, 'zone'>;

const LISTED = 25;

/** The scheme, and what is missing of it. */
type Found = Omit<TileScheme, 'missing'> & { missing: ReturnType<TileScheme['missing']> };

const needs = (requirement: Requirement<TilingOptions>, { delivery }: JudgeContext) => {
  const { tolerance, name } = requirement;
  refuseMixture(requirement);
  if (name !== undefined) tileNames(name);
  const quanta = (metres: number) => Math.round(metres * QUANTA_PER_METRE);
  const boxes = schemeOf(requirement, delivery, LISTED).tiles.map(({ box }) =>
    box === null ? null : [box[0] - tolerance, box[1] - tolerance, box[2] + tolerance, box[3] + tolerance].map(quanta),
  );
  return { outside: fact('outside-boxes', { boxes }), counts: fact('point-counts', null) };
};

/** The figures, and the limits they are held against. */
const metrics = {
  missing: metric('missing tiles', 'count', NONE_ALLOWED),
  unlisted: metric('tiles not in the index', 'count', NONE_ALLOWED),
  overlapping: metric('overlapping files', 'count', NONE_ALLOWED),
  misplaced: metric('misplaced files', 'count', NONE_ALLOWED),
  tiles: metric('tiles', 'count'),
  outside: metric('points outside their tile', 'count'),
} satisfies Metrics;

export const tiling = {
  id: 'tiling',
  title: 'Tiling scheme',
  why: 'Whoever loads tiles by their names or their grid gets points twice, or not at all, where a tile is misplaced, missing or overlaps another.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'tiles',
      note: 'one scheme without overlap; origin at whole multiples of the tile size; edges match without gaps',
    },
    { standard: 'common practice', note: 'the place of a tile by its file name' },
  ],
  schema: {
    properties: {
      index: {
        type: 'boolean',
        default: false,
        description:
          'The tiles are those of the tile index that is handed in with --tiles: GeoJSON polygons, each with the name of its file. Otherwise they are the squares of a grid, told by `size`.',
      },
      size: {
        type: 'number',
        minimum: 1,
        maximum: 1000000,
        description: 'Edge of a square tile of a grid, in `unit`.',
      },
      unit: {
        enum: ['metre', 'cloud'],
        default: 'metre',
        description:
          'Unit of size, origin and names: metres, or `cloud` for that of the coordinates, such as feet, where the scheme was agreed in it.',
      },
      originX: { type: 'number', default: 0, description: 'Easting of a corner of the tile grid, in `unit`.' },
      originY: { type: 'number', default: 0, description: 'Northing of a corner of the tile grid, in `unit`.' },
      name: {
        type: 'string',
        minLength: 1,
        maxLength: 200,
        description:
          'Pattern of the file names: {x} and {y} stand for the coordinates of the tile, or {column} and {row} for its place in the grid counted from the origin; * for other text; {x:6} for six digits. Such as "quay_{x}_{y}". Without an ending, .las and .laz are both right. Without a pattern the tile of a file is the one its middle lies in.',
      },
      nameUnit: {
        type: 'number',
        exclusiveMinimum: 0,
        default: 1,
        description:
          'Of `unit`, in one unit of the coordinates in names: 1000 for kilometres where the unit is the metre.',
      },
      nameCorner: {
        enum: ['lower-left', 'upper-left', 'centre'],
        default: 'lower-left',
        description: 'Which point of the tile the coordinates in names are.',
      },
      tolerance: {
        type: 'number',
        minimum: 0,
        default: 0.01,
        description:
          'How far points may be beyond the edge of their tile, and tiles overlap, metres. The default is the coarsest usual step of coordinates, so that a point that was rounded over the edge is accepted.',
      },
    },
    required: [],
    anyOf: [{ required: ['size'] }, { required: ['index'] }],
  },
  metrics,
  quality: 'DQ_TopologicalConsistency',
  sideFiles: ({ index }) => (index ? ['tiles'] : []),

  needs,

  explain({ index, size, unit, originX, originY, name, nameUnit, nameCorner, tolerance, zone }) {
    if (index) {
      const all = zone === undefined ? 'Every tile' : `Every tile that zone ${zone} touches`;
      return `${all} of the tile index must be there, no other may be, and every file must hold points within the rectangle round its tile, to ${length(tolerance)}; no two files may overlap.`;
    }
    const units = unit === 'cloud' ? 'units of the cloud' : 'm';
    const corner = nameCorner === 'centre' ? 'centre' : `${nameCorner} corner`;
    const named =
      name === undefined
        ? ''
        : ` and be named ${name} after its ${corner}${nameUnit === 1 ? '' : ` in units of ${nameUnit} ${units}`}`;
    const there =
      zone === undefined ? 'no tile may be missing among others' : `every tile that zone ${zone} touches must be there`;
    return `Every file must hold the points of one square tile of ${size} ${units}, to ${length(tolerance)}, the grid starting at ${originX}, ${originY}${named}; no two files may overlap, and ${there}.`;
  },

  judge({ outside, counts }, requirement, { delivery }) {
    const { unlisted: ofIndex, ...ofAll } = limitsOf(metrics, requirement);
    const limits = requirement.index ? { ...ofAll, unlisted: ofIndex } : ofAll;
    if (!delivery.files.some((file) => file.header !== null))
      return undetermined('No header could be read, so no tile could be identified.', { limits });
    const agreed = schemeOf(requirement, delivery, LISTED);
    const found: Found = { ...agreed, missing: agreed.missing() };
    const { tiles, missing, unlisted } = found;
    const overlaps = overlapsOf(extentsOf(counts, delivery), requirement.tolerance);
    const overlapping = new Set(overlaps.flatMap(({ a, b }) => [a.index, b.index])).size;
    const strays = outside.filter((o) => o.outside > 0).sort((a, b) => b.outside - a.outside || a.file - b.file);
    const points = strays.reduce((sum, o) => sum + o.outside, 0);
    const misnamed = tiles.filter((tile) => tile.fault !== null);
    const misplaced =
      new Set([...strays.map((o) => o.file), ...misnamed.map((tile) => tile.file.index)]).size - (unlisted ?? 0);
    const pass = missing.count + (unlisted ?? 0) + overlapping + misplaced === 0;
    return {
      state: pass ? 'pass' : 'fail',
      summary: summaryOf(found, { overlapping, misplaced, points, pass }, requirement.zone),
      measured: {
        tiles: figure(tiles.length, 'count'),
        missing: figure(missing.count, 'count'),
        ...(unlisted === null ? {} : { unlisted: figure(unlisted, 'count') }),
        overlapping: figure(overlapping, 'count'),
        misplaced: figure(misplaced, 'count'),
        outside: figure(points, 'count'),
      },
      limits,
      evidence: evidenceOf(found, overlaps, strays, delivery),
      advice: adviceOn(found, overlapping, points, misnamed.length - (unlisted ?? 0)),
    };
  },
} satisfies Check<TilingOptions, typeof needs>;

/** @throws Fault for options of a grid beside an index, which would be taken to be tested too */
function refuseMixture({ index, size, name }: TilingOptions): void {
  const given = [size === undefined ? '' : 'size', name === undefined ? '' : 'name'].filter((option) => option !== '');
  if (index && given.length > 0) {
    throw new Fault({
      code: 'spec-invalid',
      where: 'tiling',
      what: `${given.join(' and ')} cannot be asked together with a tile index, which gives the place of every tile by itself`,
      advice: 'Leave out one of them, or write two requirements',
    });
  }
  if (index || size !== undefined) return;
  throw new Fault({
    code: 'spec-invalid',
    where: 'tiling',
    what: 'without a tile index the size of the tiles is needed',
    advice: 'Give "size", or "index": true',
  });
}

function summaryOf(
  { words, tiles, missing, unlisted }: Found,
  { overlapping, misplaced, points, pass }: { overlapping: number; misplaced: number; points: number; pass: boolean },
  zone: string | undefined,
): string {
  const indexed = unlisted !== null;
  const all = zone === undefined ? (indexed ? ', and all are there' : '') : `, and all that zone ${zone} touches`;
  if (pass) return `${plural(tiles.length, 'tile')} ${words}, each in its place${all}.`;
  const found = [
    missing.count > 0 ? `${plural(missing.count, 'tile')} missing` : '',
    indexed && unlisted > 0 ? `${plural(unlisted, 'file')} not in the index` : '',
    overlapping > 0 ? `${plural(overlapping, 'file')} overlapping another` : '',
    misplaced > 0 ? `${plural(misplaced, 'file')} misplaced` : '',
    points > 0 ? `${plural(points, 'point')} outside their tiles` : '',
  ].filter((text) => text !== '');
  return indexed
    ? `${plural(tiles.length, 'file')} against the tile index: ${found.join(', ')}.`
    : `Of ${plural(tiles.length, 'tile')} ${words}: ${found.join(', ')}.`;
}

/** Extents of the points that are not withheld. */
function extentsOf(rows: readonly TallyRow[], { files }: DeliveryFacts): FileExtent[] {
  const boxes = new Map<number, number[]>();
  for (const { file, box } of rows) {
    if (!Number.isFinite(box[0])) continue;
    const [x0, y0, x1, y1] = [box[0], box[1], box[3], box[4]].map((quanta) => quanta / QUANTA_PER_METRE);
    const known = boxes.get(file);
    if (!known) boxes.set(file, [x0, y0, x1, y1]);
    else {
      known[0] = Math.min(known[0], x0);
      known[1] = Math.min(known[1], y0);
      known[2] = Math.max(known[2], x1);
      known[3] = Math.max(known[3], y1);
    }
  }
  return [...boxes].map(([file, box]) => ({ file: files[file], box }));
}

function evidenceOf(
  { tiles, missing }: Found,
  overlaps: readonly Overlap[],
  strays: readonly OutsideBox[],
  { files }: DeliveryFacts,
): Evidence[] {
  const shared = overlaps.map(
    ({ a, b, area, x, y }): Location => ({
      x,
      y,
      file: a.name,
      value: area,
      unit: 'm2',
      note: `shared by the extents of ${a.name} and ${b.name}`,
    }),
  );
  const outside = strays.map(
    ({ file, outside: n, worst }): Location => ({
      x: worst!.x,
      y: worst!.y,
      file: files[file].name,
      value: n,
      unit: 'count',
      note: `points outside the tile; this one by ${length(worst!.distance)} more than accepted`,
    }),
  );
  return [
    {
      kind: 'locations',
      title: 'Where tiles are not as agreed',
      items: [...missing.first, ...shared.slice(0, LISTED), ...outside.slice(0, LISTED)],
    },
    {
      kind: 'table',
      title: 'Files with a wrong name',
      columns: [
        { key: 'file', title: 'file' },
        { key: 'problem', title: 'what is wrong' },
      ],
      rows: tiles.flatMap(({ file, fault }) => (fault === null ? [] : [[file.name, fault]])),
    },
  ];
}

function adviceOn(scheme: Found, overlaps: number, misplaced: number, misnamed: number): string[] {
  const { missing, unlisted } = scheme;
  const advice: string[] = [];
  if (missing.count > 0)
    advice.push(
      'Add the missing tiles; where nothing was captured, agree that with the client and remove the area from the zone or the tile index.',
    );
  if (unlisted !== null && unlisted > 0)
    advice.push('Name the files as the tile index does, or agree on the additional tiles with the client.');
  if (overlaps > 0) advice.push('Export tiles without a margin around them, and no tile twice.');
  if (misplaced > 0) advice.push('Cut the points into tiles again, each by its own coordinates.');
  if (misnamed > 0)
    advice.push(
      unlisted === null
        ? 'Rename the files by the corner of their tile.'
        : 'Deliver one file for every tile, under its name.',
    );
  return advice;
}

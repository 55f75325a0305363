import type { DeliveryFacts } from '../delivery/delivery.js';
import { Fault } from '../fault.js';
import { QUANTA_PER_METRE } from '../measure/measurement.js';
import type { OutsideBox } from '../measure/outside-boxes.js';
import type { TallyRow } from '../measure/tally.js';
import type { Check, Evidence, JudgeContext, Location, Need, Requirement } from './check.js';
import {
  type FileExtent,
  gridInMetres,
  type MissingTiles,
  missingTiles,
  type Overlap,
  overlapsOf,
  planUnitOf,
  type Tile,
  type TileGrid,
  tilesOf,
} from './tile-grid.js';
import { tileNames } from './tile-names.js';
import { figure, length, plural, undetermined } from './wording.js';

export interface TilingOptions extends TileGrid {
  unit: 'metre' | 'cloud';
}

const LISTED = 25;

export const tiling = {
  id: 'tiling',
  title: { pass: 'Tiles follow the agreed scheme', fail: 'Tiles do not follow the agreed scheme' },
  why: 'Whoever loads tiles by their names or their grid gets points twice, or not at all, where a tile is misplaced, missing or overlaps another.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'tiles',
      note: 'one scheme without overlap; origin at whole multiples of the tile size; edges match without gaps',
    },
    { standard: 'common practice', note: 'the place of a tile told by its file name' },
  ],
  schema: {
    properties: {
      size: { type: 'number', minimum: 1, maximum: 1000000, description: 'Edge of a square tile, in `unit`.' },
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
        default: 0.001,
        description: 'How far points may be beyond the edge of their tile, and tiles overlap, metres.',
      },
    },
    required: ['size'],
  },
  metrics: ['tiles', 'missing', 'overlapping', 'misplaced', 'outside'],
  limitSense: { missing: 'at-most', overlapping: 'at-most', misplaced: 'at-most' },
  quality: 'DQ_TopologicalConsistency',

  needs(requirement: Requirement<TilingOptions>, { delivery }: JudgeContext): Need[] {
    const grid = gridOf(requirement, delivery);
    const { size, tolerance, name } = grid;
    if (name !== undefined) tileNames(name);
    const quanta = (metres: number) => Math.round(metres * QUANTA_PER_METRE);
    const boxes = tilesOf(delivery.files, grid).map(({ corner }) =>
      corner === null
        ? null
        : [corner.x - tolerance, corner.y - tolerance, corner.x + size + tolerance, corner.y + size + tolerance].map(
            quanta,
          ),
    );
    return [
      { measurement: 'outside-boxes', params: { boxes } },
      { measurement: 'tally', params: null },
    ];
  },

  explain({ size, unit, originX, originY, name, nameUnit, nameCorner, tolerance, zone }) {
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

  judge([outside, rows], requirement, { delivery }) {
    const { zone: zoneName } = requirement;
    const grid = gridOf(requirement, delivery);
    const size = `${requirement.size} ${requirement.unit === 'cloud' ? 'units of the cloud' : 'm'}`;
    const none = figure(0, 'count');
    const limits = { missing: none, overlapping: none, misplaced: none };
    if (!delivery.files.some((file) => file.header !== null))
      return undetermined('No header could be read, so no tile could be told.', { limits });
    const tiles = tilesOf(delivery.files, grid);
    const missing = missingTiles(tiles, zoneOf(delivery, zoneName), grid, LISTED);
    const overlaps = overlapsOf(extentsOf(rows as TallyRow[], delivery), requirement.tolerance);
    const overlapping = new Set(overlaps.flatMap(({ a, b }) => [a.index, b.index])).size;
    const strays = (outside as OutsideBox[])
      .filter((o) => o.outside > 0)
      .sort((a, b) => b.outside - a.outside || a.file - b.file);
    const points = strays.reduce((sum, o) => sum + o.outside, 0);
    const misnamed = tiles.filter((tile) => tile.fault !== null);
    const misplaced = new Set([...strays.map((o) => o.file), ...misnamed.map((tile) => tile.file.index)]).size;
    const found = [
      missing.count > 0 ? `${plural(missing.count, 'tile')} missing` : '',
      overlapping > 0 ? `${plural(overlapping, 'file')} overlapping another` : '',
      misplaced > 0 ? `${plural(misplaced, 'file')} misplaced` : '',
      points > 0 ? `${plural(points, 'point')} outside their tiles` : '',
    ].filter((text) => text !== '');
    const pass = missing.count + overlapping + misplaced === 0;
    return {
      state: pass ? 'pass' : 'fail',
      summary: pass
        ? `${plural(tiles.length, 'tile')} of ${size}, each in its place${zoneName === undefined ? '' : `, and all that zone ${zoneName} touches`}.`
        : `Of ${plural(tiles.length, 'tile')} of ${size}: ${found.join(', ')}.`,
      measured: {
        tiles: figure(tiles.length, 'count'),
        missing: figure(missing.count, 'count'),
        overlapping: figure(overlapping, 'count'),
        misplaced: figure(misplaced, 'count'),
        outside: figure(points, 'count'),
      },
      limits,
      evidence: evidenceOf(missing, overlaps, strays, misnamed, grid, delivery),
      advice: adviceOn(missing.count, overlapping, points, misnamed.length),
    };
  },
} satisfies Check<TilingOptions>;

/** The grid in metres, whatever unit it was agreed in. */
function gridOf(requirement: Requirement<TilingOptions>, { files }: DeliveryFacts): TileGrid {
  return requirement.unit === 'cloud' ? gridInMetres(requirement, planUnitOf(files)) : requirement;
}

function zoneOf(delivery: DeliveryFacts, name: string | undefined) {
  if (name === undefined) return null;
  const zone = delivery.zones.find((z) => z.name === name);
  if (zone) return zone;
  throw new Fault({ code: 'zone-unknown', where: 'zones', what: `there is no zone called ${name}` });
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
  missing: MissingTiles,
  overlaps: readonly Overlap[],
  strays: readonly OutsideBox[],
  misnamed: readonly Tile[],
  { size, originX, originY }: TileGrid,
  { files }: DeliveryFacts,
): Evidence[] {
  const absent = missing.first.map(
    ({ column, row }): Location => ({
      x: originX + (column + 0.5) * size,
      y: originY + (row + 0.5) * size,
      value: size * size,
      unit: 'm2',
      note: `no file for the tile at ${originX + column * size}, ${originY + row * size}`,
    }),
  );
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
      title: 'Where tiles break the grid',
      items: [...absent, ...shared.slice(0, LISTED), ...outside.slice(0, LISTED)],
    },
    {
      kind: 'table',
      title: 'Files with a wrong name',
      columns: [
        { key: 'file', title: 'file' },
        { key: 'problem', title: 'what is wrong' },
      ],
      rows: misnamed.map(({ file, fault }) => [file.name, fault]),
    },
  ];
}

function adviceOn(missing: number, overlaps: number, misplaced: number, misnamed: number): string[] {
  const advice: string[] = [];
  if (missing > 0)
    advice.push(
      'Add the missing tiles; where nothing was captured, agree that with the client and take the place out of the zone.',
    );
  if (overlaps > 0) advice.push('Export tiles without a margin around them, and no tile twice.');
  if (misplaced > 0) advice.push('Cut the points into tiles again, each by its own coordinates.');
  if (misnamed > 0) advice.push('Rename the files by the corner of their tile.');
  return advice;
}

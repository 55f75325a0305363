import { type DeliveredFile, middleOf } from '../delivery/delivery.js';
import { rasterisePolygons } from '../geometry/polygon-raster.js';
import type { TallyRow } from '../measure/tally.js';
import type { Check, JudgeContext, Location, Requirement } from './check.js';
import { figure, plural, undetermined } from './wording.js';

export interface TilingOptions {
  size: number;
  originX: number;
  originY: number;
  name?: string;
  nameUnit: number;
  tolerance: number;
}

/** Quanta a metre of the tally's extents. */
const QUANTA = 10_000;
const LISTED = 50;

export const tiling = {
  id: 'tiling',
  title: { pass: 'Tiles follow the agreed scheme', fail: 'Tiles do not follow the agreed scheme' },
  why: 'Whoever loads tiles by their names or their grid gets points twice, or not at all, where a tile is misplaced, missing or overlaps another.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'tiles',
      note: 'one non-overlapping scheme, origin at whole multiples of the tile size, edges that match without gaps',
    },
  ],
  schema: {
    properties: {
      size: { type: 'number', exclusiveMinimum: 0, description: 'Edge of a square tile, metres.' },
      originX: { type: 'number', default: 0, description: 'Easting of a corner of the tile grid, metres.' },
      originY: { type: 'number', default: 0, description: 'Northing of a corner of the tile grid, metres.' },
      name: {
        type: 'string',
        pattern: '\\{x\\}.*\\{y\\}|\\{y\\}.*\\{x\\}',
        description:
          'Pattern of file names, without folder and ending, with {x} and {y} for the south-west corner and * for anything: quay_{x}_{y}.',
      },
      nameUnit: {
        type: 'number',
        exclusiveMinimum: 0,
        default: 1,
        description: 'Metres in one unit of the numbers in file names: 1000 for kilometres.',
      },
      tolerance: {
        type: 'number',
        minimum: 0,
        default: 0.001,
        description: 'Points may lie this far beyond the edge of their tile, metres.',
      },
    },
    required: ['size'],
  },
  metrics: ['tiles', 'missing', 'overlapping', 'misplaced'],
  limitSense: { missing: 'at-most', overlapping: 'at-most', misplaced: 'at-most' },
  quality: 'DQ_ConceptualConsistency',
  needs: () => [{ measurement: 'tally', params: null }],

  explain: ({ size, originX, originY, name, zone }) =>
    `Every file must hold the points of one square tile of ${size} m, the grid starting at ${originX}, ${originY}${name ? `, and be named ${name} after its south-west corner` : ''}; no two files may share a tile${zone ? `, and every tile that zone ${zone} touches must be there` : ''}.`,

  judge([measured], requirement, context) {
    const none = figure(0, 'count');
    const limits = {
      ...(requirement.zone === undefined ? {} : { missing: none }),
      overlapping: none,
      misplaced: none,
    };
    const placed = placeFiles(measured as TallyRow[], requirement, context);
    if (placed.length === 0)
      return undetermined('No file with points could be read, so the tiles could not be compared.', { limits });
    const overlapping = doubled(placed);
    const misplaced = placed.filter((file) => file.problem !== null);
    const missing = requirement.zone === undefined ? [] : missingTiles(placed, requirement, context);
    const items: Location[] = [
      ...misplaced.map((file) => placeOf(file.file, file.problem ?? '')),
      ...overlapping.map(({ file, others }) => placeOf(file, `shares its tile with ${others.join(', ')}`)),
      ...missing.slice(0, LISTED),
    ];
    const found: string[] = [];
    if (misplaced.length > 0) found.push(`${plural(misplaced.length, 'file')} misplaced`);
    if (overlapping.length > 0) found.push(`${plural(overlapping.length, 'file')} on a tile that another has`);
    if (missing.length > 0) found.push(`${plural(missing.length, 'tile')} of zone ${requirement.zone} missing`);
    return {
      state: found.length === 0 ? 'pass' : 'fail',
      summary:
        found.length === 0
          ? `${plural(placed.length, 'tile')} of ${requirement.size} m, each in its place.`
          : `${found.join(', ')}.`,
      measured: {
        tiles: figure(placed.length, 'count'),
        missing: figure(requirement.zone === undefined ? null : missing.length, 'count'),
        overlapping: figure(overlapping.length, 'count'),
        misplaced: figure(misplaced.length, 'count'),
      },
      limits,
      evidence: [{ kind: 'locations', title: 'Tiles to look at', items }],
      advice:
        found.length === 0
          ? []
          : [
              'Cut the tiles again from the whole cloud, each point into one tile only, and name them after their corner.',
            ],
    };
  },
} satisfies Check<TilingOptions>;

interface PlacedFile {
  file: DeliveredFile;
  /** Tile that most of the file's extent lies in. */
  column: number;
  row: number;
  problem: string | null;
}

function placeFiles(
  tally: readonly TallyRow[],
  options: Requirement<TilingOptions>,
  { delivery }: JudgeContext,
): PlacedFile[] {
  const placed: PlacedFile[] = [];
  for (const file of delivery.files) {
    const boxes = tally.filter((row) => row.file === file.index && row.box[0] <= row.box[3]).map((row) => row.box);
    if (boxes.length === 0) continue;
    const [x0, y0] = [0, 1].map((axis) => Math.min(...boxes.map((box) => box[axis])) / QUANTA);
    const [x1, y1] = [3, 4].map((axis) => Math.max(...boxes.map((box) => box[axis])) / QUANTA);
    placed.push(placeFile(file, [x0, y0, x1, y1], options));
  }
  return placed;
}

function placeFile(
  file: DeliveredFile,
  [x0, y0, x1, y1]: readonly number[],
  options: Requirement<TilingOptions>,
): PlacedFile {
  const { size, originX, originY, tolerance } = options;
  // The middle decides which tile is meant: points that stray over an edge do not move it to the next one.
  const column = Math.floor(((x0 + x1) / 2 - originX) / size);
  const row = Math.floor(((y0 + y1) / 2 - originY) / size);
  const [west, south] = [originX + column * size, originY + row * size];
  const beyond = Math.max(west - x0, south - y0, x1 - (west + size), y1 - (south + size));
  let problem: string | null = null;
  if (beyond > tolerance) problem = `points lie up to ${beyond.toFixed(3)} m outside the tile at ${west}, ${south}`;
  else if (options.name !== undefined) problem = nameProblem(file.name, options.name, west, south, options.nameUnit);
  return { file, column, row, problem };
}

/** Whether the name says the corner; null when it does. */
function nameProblem(fileName: string, pattern: string, west: number, south: number, unit: number): string | null {
  const name = fileName.replace(/^.*\//, '').replace(/(\.copc)?\.la[sz]$/i, '');
  const parts = pattern.split(/(\{x\}|\{y\}|\*)/);
  const source = parts.map((p) =>
    p === '{x}' ? '(?<x>-?[\\d.]+)' : p === '{y}' ? '(?<y>-?[\\d.]+)' : p === '*' ? '.*' : escaped(p),
  );
  const found = new RegExp(`^${source.join('')}$`).exec(name)?.groups;
  if (!found) return `the name does not follow ${pattern}`;
  const [x, y] = [Number(found.x) * unit, Number(found.y) * unit];
  if (Math.abs(x - west) < 1e-6 && Math.abs(y - south) < 1e-6) return null;
  return `the name says ${x}, ${y}, the points lie in the tile at ${west}, ${south}`;
}

function escaped(text: string): string {
  return text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
}

function doubled(placed: readonly PlacedFile[]): { file: DeliveredFile; others: string[] }[] {
  const tiles = new Map<string, DeliveredFile[]>();
  for (const { file, column, row } of placed) {
    const key = `${column} ${row}`;
    tiles.set(key, [...(tiles.get(key) ?? []), file]);
  }
  return [...tiles.values()]
    .filter((files) => files.length > 1)
    .flatMap((files) => files.map((file) => ({ file, others: files.filter((f) => f !== file).map((f) => f.name) })));
}

/** Tiles that the zone touches and no file fills. */
function missingTiles(
  placed: readonly PlacedFile[],
  options: Requirement<TilingOptions>,
  { delivery }: JudgeContext,
): Location[] {
  const { size, originX, originY } = options;
  const zone = delivery.zones.find((z) => z.name === options.zone);
  const moved = (ring: Float64Array) => ring.map((v, i) => v - (i % 2 === 0 ? originX : originY));
  const polygons = (zone?.polygons ?? []).map(({ outer, holes }) => ({ outer: moved(outer), holes: holes.map(moved) }));
  const raster = rasterisePolygons(polygons, size);
  const there = new Set(placed.map(({ column, row }) => `${column} ${row}`));
  const missing: Location[] = [];
  for (let row = raster.minRow; row < raster.minRow + raster.rows; row++) {
    for (const runs of [raster.runs(row), raster.partialRuns(row)]) {
      for (let r = 0; r < runs.length; r += 2) {
        for (let column = runs[r]; column < runs[r + 1]; column++) {
          if (there.has(`${column} ${row}`)) continue;
          const [x, y] = [originX + column * size, originY + row * size];
          missing.push({
            x: x + size / 2,
            y: y + size / 2,
            value: null,
            unit: 'count',
            note: `no file for the tile at ${x}, ${y}`,
          });
        }
      }
    }
  }
  return missing;
}

function placeOf(file: DeliveredFile, note: string): Location {
  return { ...middleOf(file)!, file: file.name, value: null, unit: 'count', note };
}

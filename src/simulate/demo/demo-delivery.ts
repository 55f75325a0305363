import { mkdirSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { trajectoryCsv } from '../drive/trajectory-csv.js';
import { trajectoryRows } from '../drive/trajectory-rows.js';
import { encodeLaz } from '../encoder/laz-encoder.js';
import type { Rectangle } from '../scene/areas.js';
import { cellOf, cutVoid, densityTruth, insideRectangle, thinToDensity } from '../scene/areas.js';
import { addVerticalBias } from '../scene/delivery-faults.js';
import { scanToColumns } from '../scene/scanner.js';
import type { Street } from '../scene/street.js';
import { surveyCsv, surveyPoints } from '../scene/survey.js';
import { writeLas } from '../writer/las-writer.js';
import type { SceneColumns } from '../writer/point-columns.js';
import { selectPoints } from '../writer/point-columns.js';
import { DVR90, UTM32, UTM33 } from '../writer/reference-systems.js';
import { DEMO_HALF_LENGTH, demoDrive, routeJson } from './demo-drive.js';
import type { DemoFaults } from './demo-plan.js';
import {
  carriageway,
  DEMO_CORNER,
  DEMO_FAULTS,
  DEMO_MIN_DENSITY,
  DEMO_SIZE_METRES,
  demoSpecJson,
  demoStreet,
  TILE_METRES,
  zonesJson,
} from './demo-plan.js';
import { demoReadme } from './demo-readme.js';
import type { Planted } from './planted.js';

/** Options of the demo delivery. */
export interface DemoOptions {
  seed?: number;
  /** Whether the north-western tile is delivered as LAZ; default true. */
  laz?: boolean;
  /** Standard deviation of the scanner along the surface normal, metres; default 0.006. */
  noise?: number;
  /** Standard deviation of the surveyed heights, metres; default 0.002. */
  surveySigma?: number;
  /** Whether trajectory and route are delivered, and the spec asks something of them; default true. */
  drive?: boolean;
}

/** A tile of the demo delivery and its number of points. */
interface DemoFile {
  name: string;
  path: string;
  points: number;
}

/** The files written for the demo and the known faults in them. */
export interface DemoDelivery {
  folder: string;
  /** Folder of the tiles: the delivery to be checked. */
  tiles: string;
  files: DemoFile[];
  points: string;
  zones: string;
  spec: string;
  /** Null without `drive`. */
  trajectory: string | null;
  route: string | null;
  readme: string;
  planted: Planted;
}

/** Writes the demo delivery with all its faults. The folder is made; files of the same name are overwritten. */
export function writeDemoDelivery(folder: string, options: DemoOptions = {}): DemoDelivery {
  return writeDelivery(folder, DEMO_FAULTS, options);
}

/** The same road without a fault: everything passes. */
export function writeSoundDelivery(folder: string, options: DemoOptions = {}): DemoDelivery {
  return writeDelivery(folder, {}, options);
}

/** The same road with the faults asked for, to see one at a time. */
export function writeDelivery(folder: string, faults: DemoFaults, options: DemoOptions = {}): DemoDelivery {
  const seed = options.seed ?? 20_250_410;
  const noise = options.noise ?? 0.006;
  const surveySigma = options.surveySigma ?? 0.002;
  const street = demoStreet(seed);
  const shift = faults.passShift ?? ([0, 0, 0] as const);
  const [west, south] = DEMO_CORNER;
  const east = west + DEMO_SIZE_METRES;
  const north = south + DEMO_SIZE_METRES;
  const strip = faults.foreignTile ? 2.5 : 0;
  const drive = demoDrive(street, faults);
  const drives = drive.passes.map((pass, k) => (k === 1 ? { ...pass, faults: { shift } } : pass));
  const clip = [west, south, east + strip, north] as const;
  let cloud = scanToColumns({
    street,
    passes: drives,
    from: -DEMO_HALF_LENGTH,
    to: DEMO_HALF_LENGTH,
    clip,
    noise,
    seed,
  });
  if (faults.verticalBias) addVerticalBias(cloud, faults.verticalBias);
  if (faults.void) cloud = cutVoid(cloud, faults.void);
  const tileOf = (column: number, row: number): Rectangle => [
    west + column * TILE_METRES,
    south + row * TILE_METRES,
    west + (column + 1) * TILE_METRES,
    south + (row + 1) * TILE_METRES,
  ];
  if (faults.thinnedTo) cloud = thinToDensity(cloud, tileOf(1, 0), 1, faults.thinnedTo, seed);
  // Beyond the eastern edge only the small foreign tile goes on.
  cloud = selectPoints(cloud, (i) => cloud.x[i] < east || cloud.y[i] >= south + TILE_METRES);

  const tiles = join(folder, 'tiles');
  mkdirSync(tiles, { recursive: true });
  // Tiles of an earlier demo, which may have had other faults and one tile more.
  for (const old of readdirSync(tiles)) if (/^quay_\d+_\d+\.la[sz]$/.test(old)) rmSync(join(tiles, old));
  const files: DemoFile[] = [];
  const write = (column: number, row: number, kind: 'plain' | 'laz' | 'header' | 'foreign'): string => {
    const area = tileOf(column, row);
    const points = selectPoints(cloud, (i) => insideRectangle(area, cloud.x[i], cloud.y[i]));
    const las = lasOf(points, area, kind === 'header' ? (faults.headerExcess ?? 0) : 0, kind === 'foreign');
    const packed = kind === 'laz' && options.laz !== false ? encodeLaz(las) : null;
    const name = `quay_${area[0]}_${area[1]}.${packed ? 'laz' : 'las'}`;
    const path = join(tiles, name);
    writeFileSync(path, packed ?? las);
    files.push({ name, path, points: points.count });
    return name;
  };
  write(0, 0, 'plain');
  const laz = write(0, 1, 'laz');
  const thinned = write(1, 0, 'plain');
  const header = write(1, 1, 'header');
  const foreign = faults.foreignTile ? write(2, 1, 'foreign') : null;

  const survey = surveyOf(street, faults, surveySigma, seed);
  const beside = {
    points: join(folder, 'check-points.csv'),
    zones: join(folder, 'zones.geojson'),
    spec: join(folder, 'acceptance-spec.json'),
    readme: join(folder, 'README.txt'),
  };
  writeFileSync(beside.points, surveyCsv([...survey.check, ...survey.control]));
  writeFileSync(beside.zones, zonesJson(street));
  const withDrive = options.drive ?? true;
  writeFileSync(beside.spec, demoSpecJson(withDrive));
  const trajectory = withDrive ? join(folder, 'trajectory.csv') : null;
  const route = withDrive ? join(folder, 'route.geojson') : null;
  if (trajectory) writeFileSync(trajectory, trajectoryCsv(trajectoryRows(drive, { rate: 10 })));
  if (route) writeFileSync(route, routeJson(street));
  const passTwoDz = apparentDz(street, shift);
  const planted: Planted = {
    faults,
    noise,
    surveySigma,
    street,
    points: cloud.count,
    passes: drives.map((drive, k) => ({
      pointSourceId: drive.pointSourceId,
      points: countPass(cloud, drive.pointSourceId),
      shift: k === 1 ? shift : [0, 0, 0],
    })),
    passTwoDz,
    meanDz: (faults.verticalBias ?? 0) + passTwoDz / 3,
    checkPoints: survey.check,
    controlPoints: survey.control,
    blunderId: survey.blunderId,
    voidArea: faults.void ? (faults.void[2] - faults.void[0]) * (faults.void[3] - faults.void[1]) : 0,
    density: densityTruth(cloud, carriageway(street), 1, DEMO_MIN_DENSITY),
    thinnedTile: faults.thinnedTo ? thinned : null,
    headerTile: faults.headerExcess ? header : null,
    foreignTile: foreign,
    lazTile: laz.endsWith('.laz') ? laz : null,
  };
  writeFileSync(beside.readme, demoReadme(planted, withDrive));
  return { folder, tiles, files, ...beside, trajectory, route, planted };
}

function lasOf(points: SceneColumns, area: Rectangle, headerExcess: number, foreign: boolean): Uint8Array {
  let east = Number.NEGATIVE_INFINITY;
  let north = Number.NEGATIVE_INFINITY;
  let up = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < points.count; i++) {
    east = Math.max(east, points.x[i]);
    north = Math.max(north, points.y[i]);
    up = Math.max(up, points.z[i]);
  }
  return writeLas({
    version: [1, 4],
    format: 6,
    scale: [0.001, 0.001, 0.001],
    offset: [area[0], area[1], 0],
    crs: { as: 'wkt', horizontal: foreign ? UTM33 : UTM32, vertical: DVR90 },
    headerOverrides: headerExcess > 0 ? { max: [east + headerExcess, north, up] } : undefined,
    points,
  });
}

function surveyOf(street: Street, faults: DemoFaults, sigma: number, seed: number) {
  const area = { uFrom: -23, uTo: 23, vFrom: -3.2, vTo: 3.2 };
  // A metre of room around the hole, so that every point has a whole surface around it.
  const hole = faults.void ?? DEMO_FAULTS.void;
  const barred = (x: number, y: number) =>
    insideRectangle([hole[0] - 1, hole[1] - 1, hole[2] + 1, hole[3] + 1], x, y) ||
    cellOf(x - 0.5, TILE_METRES) !== cellOf(x + 0.5, TILE_METRES);
  const check = surveyPoints(street, {
    count: 34,
    role: 'check',
    prefix: 'CP',
    ...area,
    sigma,
    barred,
    seed: seed + 1,
  });
  const control = surveyPoints(street, {
    count: 6,
    role: 'control',
    prefix: 'GC',
    ...area,
    sigma,
    barred,
    apartFrom: check,
    seed: seed + 2,
  });
  const blunder = faults.blunder ? check[Math.floor(check.length / 2)] : null;
  if (blunder && faults.blunder) blunder.z = Math.round((blunder.z + faults.blunder) * 1000) / 1000;
  return { check, control, blunderId: blunder?.id ?? null };
}

/** What a shift does to the height read at a fixed place on the carriageway: up minus slope times the way along it. */
function apparentDz(street: Street, shift: readonly [number, number, number]): number {
  const du = shift[0] * street.cos + shift[1] * street.sin;
  const dv = shift[1] * street.cos - shift[0] * street.sin;
  return shift[2] - street.grade * du + street.crossfall * dv;
}

function countPass(points: SceneColumns, pointSourceId: number): number {
  let count = 0;
  for (let i = 0; i < points.count; i++) if (points.pointSourceId[i] === pointSourceId) count++;
  return count;
}

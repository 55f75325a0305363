// A delivery of the proof: passes through a street, tiles and side files on disk, and the built program run on them.
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { lasBytes } from './las.js';
import { drive, emptyCloud } from './scan.js';
import { street } from './scene.js';

const PROGRAM = fileURLToPath(new URL('../../bin/cloudassay.js', import.meta.url));

/**
 * Passes in both directions through a street. Options beside those of the street: passes, speed, linesPerSecond,
 * pulsesPerLine, noise, heads, azimuth, errors (one function of time a pass), tilts.
 *
 * @returns cloud, scene, place, and the settings of each pass
 */
export function scan(random, options = {}) {
  const length = options.length ?? 30;
  const scene = street({ ...options, length }, random);
  const place = {
    azimuth: options.azimuth ?? 0.13,
    east: 390_100 + (options.onFaces ? 0 : random.between(0, 1)),
    north: 5_810_200 + (options.onFaces ? 0 : random.between(0, 1)),
    height: 35 + random.between(0, 1),
  };
  const cloud = emptyCloud(options.capacity);
  const passes = [];
  for (let p = 0; p < (options.passes ?? 3); p++) {
    const direction = options.sameDirection || p % 2 === 0 ? 1 : -1;
    const pass = {
      id: 11 + p,
      direction,
      lane: -1.8 * direction + random.between(-0.3, 0.3),
      length,
      speed: options.speed ?? 8,
      linesPerSecond: options.linesPerSecond ?? 40,
      pulsesPerLine: options.pulsesPerLine ?? 600,
      start: p * 600,
      noise: options.noise ?? 0.005,
      heads: options.heads,
      error: options.errors?.[p],
      tilt: options.tilts?.[p],
    };
    drive(cloud, scene, place, pass, random);
    passes.push(pass);
  }
  return { cloud, scene, place, passes, length };
}

/** Place in the frame of the street of a place in the world. */
export function toStreet(place, x, y) {
  const dx = x - place.east;
  const dy = y - place.north;
  const c = Math.cos(place.azimuth);
  const s = Math.sin(place.azimuth);
  return [c * dx + s * dy, c * dy - s * dx];
}

/** Place in the world of a place in the frame of the street. */
export function toWorld(place, u, v) {
  const c = Math.cos(place.azimuth);
  const s = Math.sin(place.azimuth);
  return [place.east + c * u - s * v, place.north + s * u + c * v];
}

/** Rectangle of the street frame as a closed ring in the world. */
export function ring(place, u0, u1, v0, v1) {
  const corners = [
    [u0, v0],
    [u1, v0],
    [u1, v1],
    [u0, v1],
    [u0, v0],
  ];
  return corners.map(([u, v]) => toWorld(place, u, v));
}

/** Zones or tile index as GeoJSON text: names to rings. */
export function polygons(named, key = 'name') {
  const features = Object.entries(named).map(([name, outline]) => ({
    type: 'Feature',
    properties: { [key]: name },
    geometry: { type: 'Polygon', coordinates: [outline] },
  }));
  return JSON.stringify({ type: 'FeatureCollection', features });
}

/** Places of all points by square tile of `size` metres: name of the file to places, in order of the name. */
export function cut(cloud, size) {
  const tiles = new Map();
  for (let i = 0; i < cloud.count; i++) {
    const column = Math.floor(Math.round(cloud.x[i] * 1000) / (1000 * size));
    const row = Math.floor(Math.round(cloud.y[i] * 1000) / (1000 * size));
    const name = `proof_${column * size}_${row * size}.las`;
    if (!tiles.has(name)) tiles.set(name, []);
    tiles.get(name).push(i);
  }
  return new Map([...tiles].sort(([a], [b]) => (a < b ? -1 : 1)));
}

/** All points as one tile. */
export function whole(cloud) {
  return new Map([['proof.las', Array.from({ length: cloud.count }, (_, i) => i)]]);
}

/** Bytes of every tile; `options(name)` are those of the writer. */
export function filesOf(cloud, tiles, options = () => ({})) {
  return new Map([...tiles].map(([name, chosen]) => [name, lasBytes(cloud, chosen, options(name))]));
}

/**
 * Writes files and side files, runs `cloudassay check`, and removes them.
 *
 * @returns report.json as an object; `crash` in its place where the program did not end as it promises
 */
export function check({ files, requirements, passes, points, zones, tiles, workers = 1 }) {
  const folder = mkdtempSync(join(tmpdir(), 'cloudassay-proof-'));
  try {
    mkdirSync(join(folder, 'delivery'));
    for (const [name, bytes] of files) writeFileSync(join(folder, 'delivery', name), bytes);
    const spec = {
      spec: '1',
      title: 'proof',
      crs: { horizontal: 'EPSG:25833', vertical: 'EPSG:7837', unit: 'metre' },
      passes: passes ?? { by: 'point-source-id' },
      requirements: requirements.map((requirement, k) => ({ id: `R${k + 1}`, ...requirement })),
    };
    const side = (option, name, text) => {
      if (!text) return [];
      writeFileSync(join(folder, name), text);
      return [option, join(folder, name)];
    };
    const run = spawnSync(
      process.execPath,
      [
        PROGRAM,
        'check',
        join(folder, 'delivery'),
        ...side('--spec', 'spec.json', JSON.stringify(spec)),
        ...side('--points', 'points.csv', points),
        ...side('--zones', 'zones.geojson', zones),
        ...side('--tiles', 'tiles.geojson', tiles),
        '--workers',
        String(workers),
        '--json',
        '--quiet',
      ],
      { encoding: 'utf8', maxBuffer: 2 ** 28 },
    );
    if (![0, 1, 3].includes(run.status))
      return { crash: `exit ${run.status ?? run.signal}: ${run.stderr.slice(0, 600)}` };
    const odd = /unexpected error[^"]*/.exec(run.stdout + run.stderr);
    if (odd) return { crash: odd[0].slice(0, 600) };
    return JSON.parse(run.stdout);
  } catch (error) {
    return { crash: String(error) };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

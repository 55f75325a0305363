import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { Random } from '../../src/simulate/scene/random.js';
import { LasFileWriter } from '../../src/simulate/writer/las-writer.js';
import { createSceneColumns, type SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';

/** Options of a long simulated corridor. */
export interface CorridorOptions {
  /** Length of the road, metres: a whole number of tiles. */
  metres: number;
  tileMetres: number;
  passes: number;
  /** Points a square metre of road and wall, and pass. */
  density: number;
  format?: 1 | 6 | 7;
  seed?: number;
}

/** Files of a corridor, and the ground that its points cover, square metres. */
export interface CorridorDelivery {
  files: string[];
  points: number;
  ground: number;
}

const WIDTH = 12;
const WALL_HEIGHT = 3;
/** Distance of the wall from the southern edge, metres: no cell of a measurement ends there. */
const WALL_AT = 11.8;
/** No point lies so near to the edges of the road in a tile, metres: rounded, it could fall into a cell of its own beyond them. */
const MARGIN = 0.01;
/** Standard deviation of heights and of distances from the wall, metres. */
const NOISE = 0.003;
/** Metres a second. */
const SPEED = 10;

/**
 * A level road, 12 m wide, with a wall of 3 m near its northern edge, driven to and fro from west to east. It is made from
 * uniform random places and not by a scanner, so that hundreds of kilometres or passes are written in seconds.
 */
export function writeCorridor(folder: string, options: CorridorOptions): CorridorDelivery {
  const { metres, tileMetres, passes, density, format = 6 } = options;
  mkdirSync(folder, { recursive: true });
  const random = new Random(options.seed ?? 1);
  const files: string[] = [];
  let points = 0;
  for (let from = 0; from + tileMetres <= metres; from += tileMetres) {
    const path = join(folder, `corridor_${String(files.length).padStart(5, '0')}.las`);
    const writer = new LasFileWriter(path, {
      version: [1, format === 1 ? 2 : 4],
      format,
      scale: [0.001, 0.001, 0.001],
      offset: [561_000, 5_932_000, 0],
      crs: { as: format === 1 ? 'geotiff' : 'wkt', horizontal: UTM32, vertical: DVR90 },
    });
    for (let pass = 0; pass < passes; pass++) writer.add(tileOf(from, tileMetres, pass, density, random));
    writer.close();
    points += writer.count;
    files.push(path);
  }
  return { files, points, ground: files.length * tileMetres * WIDTH };
}

/** What one pass shows of one tile. */
function tileOf(from: number, length: number, pass: number, density: number, random: Random): SceneColumns {
  const road = Math.round(length * WIDTH * density);
  const wall = Math.round(length * WALL_HEIGHT * density);
  const columns = createSceneColumns(road + wall);
  columns.count = road + wall;
  for (let i = 0; i < columns.count; i++) {
    // Along the road in the order of time, as a scanner would give it.
    const u = from + MARGIN + ((i + random.uniform()) / columns.count) * (length - 2 * MARGIN);
    const isWall = i % 5 === 0 && i / 5 < wall;
    columns.x[i] = 561_000 + u;
    columns.y[i] =
      5_932_000 + (isWall ? WALL_AT + NOISE * random.normal() : MARGIN + (WIDTH - 2 * MARGIN) * random.uniform());
    columns.z[i] = 3 + (isWall ? WALL_HEIGHT * random.uniform() : NOISE * random.normal());
    columns.intensity[i] = 1000;
    columns.returnNumber[i] = 1;
    columns.returnCount[i] = 1;
    columns.classification[i] = isWall ? 1 : 2;
    columns.pointSourceId[i] = pass + 1;
    columns.gpsTime[i] = 1e8 + 1e5 * pass + u / SPEED;
  }
  return columns;
}

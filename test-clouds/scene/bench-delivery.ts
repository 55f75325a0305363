import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { Random } from '../../src/simulate/scene/random.js';
import { scanStreet } from '../../src/simulate/scene/scanner.js';
import type { Street } from '../../src/simulate/scene/street.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import type { LasOptions } from '../../src/simulate/writer/las-header.js';
import { LasFileWriter } from '../../src/simulate/writer/las-writer.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';

/** Options of a large simulated delivery. */
export interface BenchOptions {
  /** Points in all, exactly. */
  points: number;
  /** Points a square metre of carriageway and pass; sets the length of the street. */
  density?: number;
  passes?: number;
  tileMetres?: number;
  format?: 6 | 7 | 8;
  seed?: number;
}

/** The files of a large simulated delivery. */
export interface BenchDelivery {
  street: Street;
  files: { path: string; points: number }[];
  points: number;
  /** Along the street, absolute u. */
  length: number;
}

/** Square metres of surface, walls included, for each metre of the usual street. */
const SURFACE_PER_METRE = 26;

/**
 * A large delivery for measuring speed: a straight street from west to east in square tiles, written block by block, so
 * that memory stays small at any size. The last stretch ends where the number of points is reached.
 */
export function writeBenchDelivery(folder: string, options: BenchOptions): BenchDelivery {
  const tile = options.tileMetres ?? 50;
  const passes = options.passes ?? 3;
  const density = options.density ?? 800;
  // A fifth longer than needed, so that the last stretch is cut and the number is exact.
  const length = (options.points / (density * passes * SURFACE_PER_METRE)) * 1.2 + 10;
  const origin: [number, number] = [561_000, 5_932_225];
  const street = createStreet({ origin, heightAtOrigin: 3.2, grade: 0.001 });
  mkdirSync(folder, { recursive: true });
  const las: LasOptions = {
    version: [1, 4],
    format: options.format ?? 6,
    scale: [0.001, 0.001, 0.001],
    offset: [561_000, 5_932_000, 0],
    crs: { as: 'wkt', horizontal: UTM32, vertical: DVR90 },
  };
  const drives = usualDrives({ passes, density });
  const random = new Random(options.seed ?? 1);
  const files: { path: string; points: number }[] = [];
  let left = options.points;
  // Stretch after stretch, all passes of each: one tile is open at a time.
  for (let from = 0; from < length && left > 0; from += tile) {
    const path = join(folder, `bench_${String(files.length).padStart(4, '0')}.las`);
    const writer = new LasFileWriter(path, las);
    const scan = {
      street,
      passes: drives.map((drive) => ({ ...drive, startTime: drive.startTime + (from / drive.speed) * 1.5 })),
      from,
      to: Math.min(from + tile, length),
      clip: [origin[0] + from, -Infinity, origin[0] + from + tile, Infinity] as const,
      seed: random.below(1e9),
    };
    scanStreet(scan, (block) => {
      block.count = Math.min(block.count, left);
      left -= block.count;
      writer.add(coloured(block, las.format));
    });
    writer.close();
    files.push({ path, points: writer.count });
  }
  if (left > 0) throw new Error(`the street came out ${left} points short`);
  return { street, files, points: options.points, length };
}

function coloured(block: SceneColumns, format: number): SceneColumns {
  if (format === 6) return block;
  return { ...block, red: block.intensity, green: block.intensity, blue: block.intensity, nir: block.intensity };
}

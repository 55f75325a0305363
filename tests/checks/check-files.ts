import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import type { Report, RequirementResult } from '../../src/report/model.js';
import { type CheckOptions, checkDelivery } from '../../src/run/check-delivery.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import type { LasOptions } from '../../src/simulate/writer/las-header.js';
import { writeLas } from '../../src/simulate/writer/las-writer.js';
import type { PointColumns, SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';

/** A small street without a fault: two passes, some 40,000 points, corner near 561000, 5932190. */
export function soundStreet(more: { seed?: number; density?: number; passes?: number } = {}): SceneColumns {
  const street = createStreet({ origin: [561_010, 5_932_200] });
  const passes = usualDrives({ passes: more.passes ?? 2, density: more.density ?? 40 });
  return scanToColumns({ street, passes, from: -10, to: 10, seed: more.seed ?? 7 });
}

/** A LAS file of the street's kind; `more` says what is to be otherwise. */
export function lasOf(points: PointColumns, more: Partial<LasOptions> = {}): Uint8Array {
  return writeLas({
    version: [1, 4],
    format: 6,
    scale: [0.001, 0.001, 0.001],
    offset: [561_000, 5_932_000, 0],
    crs: { as: 'wkt', horizontal: UTM32, vertical: DVR90 },
    ...more,
    points,
  });
}

/** Files of bytes or text in a folder of their own, judged by a spec of these requirements; the folder is taken away again. */
export async function assayFiles(
  files: Record<string, Uint8Array>,
  requirements: Record<string, unknown>[],
  more: Partial<CheckOptions> & { zones?: string; tiles?: string; passes?: object; crs?: object } = {},
): Promise<Report> {
  const folder = mkdtempSync(join(tmpdir(), 'cloudassay-checks-'));
  try {
    for (const [name, bytes] of Object.entries(files)) {
      const path = join(folder, 'tiles', name);
      mkdirSync(dirname(path), { recursive: true });
      writeFileSync(path, bytes);
    }
    const spec = join(folder, 'spec.json');
    const listed = requirements.map((r, k) => ({ id: `R-${k + 1}`, ...r }));
    writeFileSync(
      spec,
      JSON.stringify({ spec: '1', title: 'test', crs: more.crs, passes: more.passes, requirements: listed }),
    );
    const zones = more.zones === undefined ? null : join(folder, 'zones.geojson');
    if (zones) writeFileSync(zones, more.zones!);
    const tiles = more.tiles === undefined ? null : join(folder, 'tiles.geojson');
    if (tiles) writeFileSync(tiles, more.tiles!);
    const { passes: _, zones: __, crs: ___, tiles: ____, ...options } = more;
    return await checkDelivery({ delivery: [join(folder, 'tiles')], spec, zones, tiles, workers: 1, ...options });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** As assayFiles, with one requirement and its result. */
export async function assayOne(
  files: Record<string, Uint8Array>,
  requirement: Record<string, unknown>,
  more: Parameters<typeof assayFiles>[2] = {},
): Promise<RequirementResult> {
  return (await assayFiles(files, [requirement], more)).requirements[0];
}

/** GeoJSON of upright rectangles: [name, x0, y0, x1, y1], metres. */
export function zonesOf(...zones: readonly (readonly [string, number, number, number, number])[]): string {
  const features = zones.map(([name, x0, y0, x1, y1]) => ({
    type: 'Feature',
    properties: { name },
    geometry: {
      type: 'Polygon',
      coordinates: [
        [
          [x0, y0],
          [x1, y0],
          [x1, y1],
          [x0, y1],
          [x0, y0],
        ],
      ],
    },
  }));
  return JSON.stringify({ type: 'FeatureCollection', features });
}

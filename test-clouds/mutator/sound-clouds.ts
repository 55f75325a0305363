import { encodeLaz } from '../../src/simulate/encoder/laz-encoder.js';
import type { HeaderFields, LasOptions } from '../../src/simulate/writer/las-header.js';
import { writeLas } from '../../src/simulate/writer/las-writer.js';
import { createSceneColumns, type SceneColumns, selectPoints } from '../../src/simulate/writer/point-columns.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';
import { encodeCopc } from '../encoder/copc-encoder.js';
import { smallScene } from '../faults/broken-las.js';

/** Points of every sound cloud: enough for some chunks and nodes, few enough to read a hundred clouds in a second. */
const POINTS = 240;

/** Header fields to replace. */
type Overrides = Partial<HeaderFields>;
/** Further options of the writer. */
type More = Partial<Omit<LasOptions, 'headerOverrides'>> & { headerOverrides?: Overrides };

/** Sound files of every kind from one small scene, with whatever a caller wants otherwise. */
export interface SoundClouds {
  points: SceneColumns;
  las14(more?: More): Uint8Array;
  /** Format 1 and GeoTIFF keys in LAS 1.4, readable by older readers. */
  las14old(more?: More): Uint8Array;
  /** Wave packets, the waveforms beside the file. */
  las14waves(more?: More): Uint8Array;
  las15(more?: More): Uint8Array;
  /** LAS 1.5 with seconds of the week. */
  las15week(more?: More): Uint8Array;
  las12(more?: More): Uint8Array;
  las10(more?: More): Uint8Array;
  /** Extra bytes "Range" (u16) and "Deviation" (f64). */
  las14extra(more?: More): Uint8Array;
  empty14(more?: More): Uint8Array;
  empty15(more?: More): Uint8Array;
  laz14(more?: More): Uint8Array;
  laz12(more?: More): Uint8Array;
  copc(more?: More): Uint8Array;
  /** Other points as LAS 1.4. */
  lasOf(points: SceneColumns): Uint8Array;
}

const wkt = { as: 'wkt', horizontal: UTM32, vertical: DVR90 } as const;
const geotiff = { as: 'geotiff', horizontal: UTM32, vertical: DVR90 } as const;

/** Files without faults, from a seeded scene. */
export function soundClouds(seed: number): SoundClouds {
  const points = thinned(smallScene(seed));
  const week = { ...points, gpsTime: points.gpsTime.map((_, i) => 1000 + i / 100) };
  const extra = new Uint8Array(10 * points.count);
  const values = new DataView(extra.buffer);
  for (let i = 0; i < points.count; i++) {
    values.setUint16(10 * i, 1000 + i, true);
    values.setFloat64(10 * i + 2, i / 7, true);
  }
  const las = (base: Partial<LasOptions>, more: More = {}, columns: SceneColumns & { extra?: Uint8Array } = points) =>
    writeLas({
      version: [1, 4],
      format: 6,
      scale: [0.001, 0.001, 0.001],
      offset: [561_000, 5_932_000, 0],
      crs: wkt,
      unsound: true,
      ...base,
      ...more,
      headerOverrides: { ...base.headerOverrides, ...more.headerOverrides },
      points: columns,
    });
  const nothing = createSceneColumns(0);
  const clouds: SoundClouds = {
    points,
    las14: (more) => las({}, more),
    las14old: (more) => las({ format: 1, crs: geotiff }, more),
    // Bits: standard GPS time, waveforms beside the file, WKT.
    las14waves: (more) => las({ format: 9, headerOverrides: { globalEncoding: 1 | 4 | 16 } }, more),
    las15: (more) => las({ version: [1, 5] }, more),
    las15week: (more) => las({ version: [1, 5], gpsTime: 'week' }, more, week),
    las12: (more) => las({ version: [1, 2], format: 1, crs: geotiff }, more),
    las10: (more) => las({ version: [1, 0], format: 0, crs: geotiff }, more),
    las14extra: (more) =>
      las(
        {
          extraBytes: [
            { name: 'Range', type: 3 },
            { name: 'Deviation', type: 10 },
          ],
        },
        more,
        { ...points, extra },
      ),
    empty14: (more) => las({}, more, nothing),
    empty15: (more) => las({ version: [1, 5] }, more, nothing),
    laz14: (more) => encodeLaz(clouds.las14(more), { chunkSize: 100 }),
    laz12: (more) => encodeLaz(clouds.las12(more), { chunkSize: 100 }),
    lasOf: (others) => las({}, {}, others),
    copc: (more) => encodeCopc(clouds.las14(more), { nodePoints: 40, pageLevels: 1 }),
  };
  return clouds;
}

/** Every n-th point: all passes, and the whole extent. */
function thinned(scene: SceneColumns): SceneColumns {
  const step = Math.floor(scene.count / POINTS);
  return selectPoints(scene, (i) => i % step === 0 && i / step < POINTS);
}

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Las } from 'copc';
import { createLazPerf } from 'laz-perf';
import { afterAll, describe, expect, test } from 'vitest';
import type { Cloud } from '../../src/cloud/cloud.js';
import { openCloud } from '../../src/cloud/open.js';
import { realClouds } from '../real-clouds.js';
import { collect, faultCode } from './collect.js';

// Small open samples made by many writers. They do not belong to the project: set CLOUDASSAY_REAL_CLOUDS to their folder,
// or keep them in a folder clouds/real of a neighbour of the project. Where they are missing these tests are skipped.
// Expected values: the files' own headers, and the copc and laz-perf packages.
const folder = realClouds('tests/cloud/real.test.ts');

const opened: Cloud[] = [];
async function open(name: string): Promise<Cloud> {
  const cloud = await openCloud(join(folder!, name));
  opened.push(cloud);
  return cloud;
}
afterAll(async () => {
  await Promise.all(opened.map((c) => c.close()));
});

/** name, packing, points, EPSG horizontal, EPSG vertical */
const readable: [string, string, number, number | null, number | null][] = [
  ['1.0_0.las', 'LAS', 1, 26915, null],
  ['1.1_1.las', 'LAS', 1, 26915, null],
  ['1.2-empty-geotiff-vlrs.las', 'LAS', 43, null, null],
  ['1_4_w_evlr.laz', 'LAZ', 1000, 2903, null],
  ['32-1-472-150-76.laz', 'LAZ', 5658, 25832, 5941],
  ['autzen-thin.las', 'LAS', 10653, null, null],
  ['ellipsoid.copc.laz', 'COPC', 100000, 3857, null],
  ['lone-star.copc.laz', 'COPC', 518862, null, null],
  ['lots_of_vlr.las', 'LAS', 1, null, null],
  ['no-points-1.3.las', 'LAS', 0, null, null],
  ['no-points-1.3.laz', 'LAZ', 0, null, null],
  ['pdrf9-1.5.las', 'LAS', 1024, null, null],
  ['pdrf9-1.5.laz', 'LAZ', 1024, null, null],
  ['simple_with_page.copc.laz', 'COPC', 1065, 2991, 6360],
  ['srs_vertcs.las', 'LAS', 10, 32617, 5703],
];

describe.skipIf(!folder)('real files', () => {
  test.each(readable)('%s: %s, %i points', async (name, packing, points, horizontal, vertical) => {
    const cloud = await open(name);
    const { header, crs } = cloud;
    expect(cloud.format).toBe(packing);
    expect(crs.horizontal?.epsg ?? null).toBe(horizontal);
    expect(crs.vertical?.epsg ?? null).toBe(vertical);
    const all = await collect(cloud);
    expect(all.count).toBe(points);
    expect(header.pointCount).toBe(points);
    if (points === 0) return;
    // Every header of these files states the extent of its points; some were rounded before quantising, hence one step.
    for (const [axis, raw] of [all.x, all.y, all.z].entries()) {
      let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
      for (let i = 0; i < points; i++) {
        low = Math.min(low, raw[i]);
        high = Math.max(high, raw[i]);
      }
      const { scale, offset, min, max } = header;
      const step = Math.abs(scale[axis]) * 1.000001;
      expect(Math.abs(low * scale[axis] + offset[axis] - min[axis])).toBeLessThanOrEqual(step);
      expect(Math.abs(high * scale[axis] + offset[axis] - max[axis])).toBeLessThanOrEqual(step);
    }
  });

  test.each(['32-1-472-150-76.laz', '1_4_w_evlr.laz'])(
    '%s: records equal those of the whole-file decoder',
    async (name) => {
      const bytes = new Uint8Array(readFileSync(join(folder!, name)));
      // That decoder's wrapper refuses LAS 1.1, which 1.2 equals but for the global encoding.
      bytes[25] = Math.max(bytes[25], 2);
      const records = await Las.PointData.decompressFile(bytes, await createLazPerf());
      const view = new DataView(records.buffer, records.byteOffset, records.byteLength);
      const cloud = await open(name);
      const all = await collect(cloud);
      const { recordLength } = cloud.header;
      const gps = cloud.header.pointFormat < 6 ? 20 : 22;
      for (let i = 0; i < all.count; i++) {
        const at = i * recordLength;
        const same =
          view.getInt32(at, true) === all.x[i] &&
          view.getInt32(at + 8, true) === all.z[i] &&
          view.getFloat64(at + gps, true) === all.gpsTime[i];
        if (!same) throw new Error(`point ${i}`);
      }
    },
  );

  test('autzen-thin.las: nine passes by point source', async () => {
    const all = await collect(await open('autzen-thin.las'), new Set(['pointSourceId']));
    expect(new Set(all.pointSourceId).size).toBe(9);
  });

  test('lots_of_vlr.las: 390 records', async () => {
    expect((await open('lots_of_vlr.las')).vlrs).toHaveLength(390);
  });

  test('1.2-empty-geotiff-vlrs.las: records are there, the system is not', async () => {
    const { crs, extraBytes } = await open('1.2-empty-geotiff-vlrs.las');
    expect(crs.state).toBe('unreadable');
    expect(extraBytes.map((e) => e.name)).toEqual(['Amplitude', 'Reflectance', 'Deviation']);
  });

  test.each(['broken_coder.laz', 'broken_size.laz'])('%s: refused before decoding', async (name) => {
    expect(await faultCode((await open(name)).spans(1000))).toMatch(/^laz-/);
  });
});

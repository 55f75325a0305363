import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { createLazDecoder } from '../../src/cloud/decoder/laz-decoder.js';
import { realClouds } from '../real-clouds.js';
import { decodeRecords, recordsOf } from './las-points.js';
import { chunksOf } from './laz-chunks.js';
import { decodeByLazPerf } from './laz-perf-records.js';

// Open samples by several writers, not part of the project: set CLOUDASSAY_REAL_CLOUDS to their folder, or keep them in
// a folder clouds/real of a neighbour of the project. Outside references: laz-perf, and an uncompressed twin.
const folder = realClouds('tests/decoder/real.test.ts');
const read = (name: string) => new Uint8Array(readFileSync(join(folder!, name)));

describe.skipIf(!folder)('files by other writers', () => {
  /** name, format, record length */
  const known: [string, number, number][] = [
    ['32-1-472-150-76.laz', 1, 28],
    ['1_4_w_evlr.laz', 6, 30],
    ['ellipsoid.copc.laz', 7, 36],
    ['simple_with_page.copc.laz', 7, 36],
    ['lone-star.copc.laz', 6, 30],
  ];
  test.each(known)('%s is decoded as by laz-perf', async (name, format, length) => {
    const laz = read(name);
    const chunks = await chunksOf(laz);
    const ours = decodeRecords(await createLazDecoder(), laz, chunks);
    expect(Buffer.compare(ours, decodeByLazPerf(laz, chunks, format, length))).toBe(0);
  });

  test('items of version 4 with wave packets are decoded to the uncompressed twin', async () => {
    const laz = read('pdrf9-1.5.laz');
    const ours = decodeRecords(await createLazDecoder(), laz, await chunksOf(laz));
    expect(Buffer.compare(ours, recordsOf(read('pdrf9-1.5.las')).records)).toBe(0);
  });

  test.each(['pdrf4-1.3.laz', 'pdrf10-1.4.laz'])('%s with wave packets ends where its data end', async (name) => {
    const laz = read(name);
    const ours = decodeRecords(await createLazDecoder(), laz, await chunksOf(laz));
    expect(ours.length).toBeGreaterThan(0);
  });
});

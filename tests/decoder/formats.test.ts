import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { createLazDecoder } from '../../src/cloud/decoder/laz-decoder.js';
import { encodeLazWithChunks } from '../../src/simulate/encoder/laz-encoder.js';
import { decodeRecords, recordsOf } from './las-points.js';
import { chunksOf } from './laz-chunks.js';

// The files in test-clouds/formats were compressed by LASzip, the codec that defines the format, from the LAS files
// beside them; its chunks are what decoder and encoder are held against here.
const folder = 'test-clouds/formats';
const read = (name: string) => new Uint8Array(readFileSync(`${folder}/${name}`));
const names = readdirSync(`${folder}/laz`).map((name) => name.replace('.laz', ''));
const decoder = await createLazDecoder();

/** Sums of what truth.json states, made when the files were. */
const truth = JSON.parse(readFileSync(`${folder}/truth.json`, 'utf8')) as Record<
  string,
  { points: number; sum: number[] }
>;

test('all samples are there', () => {
  expect(names).toHaveLength(28);
  expect(readdirSync(`${folder}/copc`)).toHaveLength(3);
});

describe.each(names)('%s', (name) => {
  test('is decoded to the records of its uncompressed twin', async () => {
    const laz = read(`laz/${name}.laz`);
    const { records, parts, count } = recordsOf(read(`las/${name}.las`));
    const decoded = decodeRecords(decoder, laz, await chunksOf(laz));
    expect(Buffer.compare(decoded, records)).toBe(0);
    expect(count).toBe(truth[name].points);
    const view = new DataView(decoded.buffer);
    const sums = [0, 0, 0];
    for (let i = 0; i < count; i++) {
      for (let axis = 0; axis < 3; axis++) sums[axis] += view.getInt32(i * parts.recordLength + 4 * axis, true);
    }
    expect(sums).toEqual(truth[name].sum);
  });

  test('is encoded to the same chunks', async () => {
    const theirs = read(`laz/${name}.laz`);
    const ours = encodeLazWithChunks(read(`las/${name}.las`), { chunkSize: 1000 });
    const places = await chunksOf(theirs);
    expect(ours.chunks.map((c) => [c.end - c.begin, c.points])).toEqual(places.map((c) => [c.end - c.begin, c.points]));
    for (const [i, place] of places.entries()) {
      const own = ours.bytes.subarray(ours.chunks[i].begin, ours.chunks[i].end);
      expect(Buffer.compare(own, theirs.subarray(place.begin, place.end))).toBe(0);
    }
  });
});

test.each([6, 7, 8])(
  'COPC of format %i holds the records of the uncompressed file, in its own order',
  async (format) => {
    const laz = read(`copc/v14-pf0${format}.copc.laz`);
    const { records, parts } = recordsOf(read(`las/v14-pf0${format}.las`));
    const sorted = (bytes: Uint8Array): string[] => {
      const lines: string[] = [];
      for (let at = 0; at < bytes.length; at += parts.recordLength) {
        lines.push(Buffer.from(bytes.subarray(at, at + parts.recordLength)).toString('hex'));
      }
      return lines.sort();
    };
    expect(sorted(decodeRecords(decoder, laz, await chunksOf(laz)))).toEqual(sorted(records));
  },
);

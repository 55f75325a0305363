import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createLazDecoder } from '../../src/cloud/decoder/laz-decoder.js';
import { encodeLazWithChunks } from '../../src/simulate/encoder/laz-encoder.js';
import { decodeRecords, lasFromRecords, RECORD_LENGTHS } from './las-points.js';
import { randomRecords } from './random-points.js';

const decoder = await createLazDecoder();

/** Formats 0 to 5 have items of version 1 and 2, formats 6 to 10 of version 3 and 4. */
const cases = RECORD_LENGTHS.flatMap((_, format) =>
  (format < 6 ? [1, 2] : [3, 4]).map((version) => ({ format, version })),
);

const wildness = fc.record({
  change: fc.constantFrom(0, 0.05, 0.5, 1),
  jump: fc.constantFrom(0, 0.02, 0.5),
  channels: fc.constantFrom([0], [2], [0, 1], [3, 0, 1, 2]),
  returns: fc.constantFrom(1, 3, 15),
});

describe.each(cases)('format $format, items of version $version', ({ format, version }) => {
  test('random points come back bit by bit', () => {
    const property = fc.property(
      wildness,
      fc.constantFrom(0, 0, 1, 7),
      fc.constantFrom(1, 2, 3, 100, 900),
      fc.integer(),
      fc.constantFrom(1, 7, 400, 50_000),
      (wild, extraLength, count, seed, chunkSize) => {
        const length = RECORD_LENGTHS[format] + extraLength;
        const records = randomRecords(format, extraLength, count, seed, wild);
        const options = { version: version as 1 | 2 | 3 | 4, chunkSize: Math.max(chunkSize, Math.ceil(count / 20)) };
        const { bytes, chunks } = encodeLazWithChunks(lasFromRecords(format, records, length), options);
        expect(Buffer.compare(decodeRecords(decoder, bytes, chunks), records)).toBe(0);
      },
    );
    fc.assert(property, { numRuns: 15, seed: 1000 * format + version });
  });
});

test('a chunk larger than a block arrives in blocks', () => {
  const wild = { change: 0.4, jump: 0.01, channels: [0, 2], returns: 5 };
  const records = randomRecords(7, 2, 40_000, 5, wild);
  const { bytes, chunks } = encodeLazWithChunks(lasFromRecords(7, records, 38));
  expect(Buffer.compare(decodeRecords(decoder, bytes, chunks), records)).toBe(0);
});

test('chunks may have their own sizes', () => {
  const wild = { change: 0.4, jump: 0.01, channels: [0, 2], returns: 5 };
  const records = randomRecords(6, 0, 600, 5, wild);
  const { bytes, chunks } = encodeLazWithChunks(lasFromRecords(6, records, 30), { chunkSize: [1, 9, 500, 90] });
  expect(Buffer.compare(decodeRecords(decoder, bytes, chunks), records)).toBe(0);
});

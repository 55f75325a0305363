import { describe, expect, test } from 'vitest';
import { createLazDecoder } from '../../src/cloud/decoder/laz-decoder.js';
import { encodeLazWithChunks } from '../../src/simulate/encoder/laz-encoder.js';
import { decodeRecords, lasFromRecords, RECORD_LENGTHS } from './las-points.js';
import { decodeByLazPerf } from './laz-perf-records.js';
import { randomRecords, type Wildness } from './random-points.js';

// laz-perf 0.0.7 is an independent decoder: it must read what the encoder writes, and the same as ours does. It knows
// formats 0 to 3 and 6 to 8, in items of versions 2 and 3.
const decoder = await createLazDecoder();

const manners: [string, Wildness][] = [
  ['calm points', { change: 0.3, jump: 0.005, channels: [0], returns: 3 }],
  ['wild points', { change: 0.8, jump: 0.3, channels: [0, 1, 2, 3], returns: 15 }],
  ['one channel that is not the first', { change: 0.5, jump: 0.02, channels: [2], returns: 5 }],
  ['two channels in turn', { change: 0.5, jump: 0.02, channels: [1, 3], returns: 5 }],
];
const cases = [0, 1, 2, 3, 6, 7, 8].flatMap((format) => [0, 3].map((extraLength) => ({ format, extraLength })));

describe.each(cases)('format $format with $extraLength extra bytes', ({ format, extraLength }) => {
  test.each(manners)('%s: the same bytes from both decoders', (_, wild) => {
    const length = RECORD_LENGTHS[format] + extraLength;
    const records = randomRecords(format, extraLength, 1500, 100 * format + extraLength, wild);
    const { bytes, chunks } = encodeLazWithChunks(lasFromRecords(format, records, length), { chunkSize: 1000 });
    const theirs = decodeByLazPerf(bytes, chunks, format, length);
    const ours = decodeRecords(decoder, bytes, chunks);
    expect(Buffer.compare(ours, theirs)).toBe(0);
    expect(Buffer.compare(theirs, records)).toBe(0);
  });
});

import { describe, expect, test } from 'vitest';
import { ALL_COLUMNS } from '../../src/cloud/columns.js';
import { createLazDecoder, type LazDecoder } from '../../src/cloud/decoder/laz-decoder.js';
import { Fault } from '../../src/fault.js';
import { type ChunkPlace, encodeLazWithChunks } from '../../src/simulate/encoder/laz-encoder.js';
import { decodeRecords, lasFromRecords, layoutOf, RECORD_LENGTHS } from './las-points.js';
import { randomRecords, seeded } from './random-points.js';

// No outside reference here: what counts is that damage is told, and that nothing worse happens.
const POINTS = 3000;
const wild = { change: 0.4, jump: 0.01, channels: [0, 1], returns: 5 };
const formats = [0, 1, 3, 5, 6, 7, 10];

function compress(format: number): { laz: Uint8Array; chunk: ChunkPlace; records: Uint8Array } {
  const records = randomRecords(format, 2, POINTS, format, wild);
  const { bytes, chunks } = encodeLazWithChunks(lasFromRecords(format, records, RECORD_LENGTHS[format] + 2));
  return { laz: bytes, chunk: chunks[0], records };
}

/** The records, or the code of the fault. Anything else that is thrown fails the test. */
function attempt(decoder: LazDecoder, laz: Uint8Array, chunk: ChunkPlace): Uint8Array | string {
  try {
    return decodeRecords(decoder, laz, [chunk]);
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return error.facts.code;
  }
}

const same = (a: Uint8Array | string, b: Uint8Array | string): boolean =>
  typeof a === 'string' || typeof b === 'string' ? a === b : Buffer.compare(a, b) === 0;

describe.each(formats)('format %i', (format) => {
  const { laz, chunk, records } = compress(format);
  const head = RECORD_LENGTHS[format] + 2;

  test('nearly every single flipped bit is noticed', async () => {
    const [decoder, other] = [await createLazDecoder(), await createLazDecoder()];
    const random = seeded(format);
    let noticed = 0;
    const flips = 120;
    for (let i = 0; i < flips; i++) {
      const broken = laz.slice();
      const bit = Math.floor(random() * 8 * (chunk.end - chunk.begin - head)) + 8 * (chunk.begin + head);
      broken[bit >> 3] ^= 1 << (bit & 7);
      const result = attempt(decoder, broken, chunk);
      if (typeof result === 'string') noticed++;
      // A decoder with another past comes to the same end: nothing outside the chunk has a say in it.
      if (i % 8 === 0) {
        other.open(layoutOf(laz), 'test.laz');
        expect(same(attempt(other, broken, chunk), result)).toBe(true);
      }
    }
    // Measured when this was written: 98 to 100 %.
    expect(noticed).toBeGreaterThan(0.95 * flips);
    expect(same(attempt(decoder, laz, chunk), records)).toBe(true);
  });

  test('every cut is noticed', async () => {
    const decoder = await createLazDecoder();
    const size = chunk.end - chunk.begin;
    for (const length of [0, 1, head - 1, head, head + 3, head + 4, head + 40, size >> 1, size - 5, size - 1]) {
      const cut = { ...chunk, end: chunk.begin + length };
      expect([length, attempt(decoder, laz, cut)]).toEqual([length, 'laz-chunk-damaged']);
    }
    expect(same(attempt(decoder, laz, chunk), records)).toBe(true);
  });

  test('a wrong number of points is noticed', async () => {
    const decoder = await createLazDecoder();
    for (const points of [1, POINTS - 1, POINTS + 1, 0xffffffff]) {
      expect(attempt(decoder, laz, { ...chunk, points: Math.min(points, 10 * POINTS) })).toBe('laz-chunk-damaged');
    }
    const giant = { ...chunk, end: chunk.begin + 100, points: 0xffffffff };
    decoder.open(layoutOf(laz), 'test.laz');
    const bytes = laz.subarray(giant.begin, giant.end);
    expect(() => decoder.chunk(bytes, giant.points, new Set(ALL_COLUMNS), () => {}, 'test.laz')).toThrow(Fault);
  });

  test('noise and zeros end in a fault or in points, never in a trap', async () => {
    const decoder = await createLazDecoder();
    const random = seeded(format + 50);
    for (let i = 0; i < 60; i++) {
      const broken = laz.slice();
      const from = chunk.begin + Math.floor(random() * (chunk.end - chunk.begin));
      const to = Math.min(chunk.end, from + 1 + Math.floor(random() * 400));
      for (let at = from; at < to; at++) broken[at] = i % 3 === 0 ? 0 : i % 3 === 1 ? 255 : Math.floor(random() * 256);
      const result = attempt(decoder, broken, chunk);
      if (typeof result === 'string') expect(result).toBe('laz-chunk-damaged');
    }
    expect(same(attempt(decoder, laz, chunk), records)).toBe(true);
  });
});

test('a stream of ones only, which no encoder writes, does not lead out of the tables', async () => {
  const decoder = await createLazDecoder();
  for (const format of formats) {
    const { laz, chunk } = compress(format);
    const broken = laz.slice();
    broken.fill(255, chunk.begin + RECORD_LENGTHS[format] + 2 + (format > 5 ? 4 + 4 * 15 : 0), chunk.end);
    expect(attempt(decoder, broken, chunk)).toBe('laz-chunk-damaged');
  }
});

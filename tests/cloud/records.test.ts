import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ALL_COLUMNS, BLOCK_POINTS, createBatch } from '../../src/cloud/columns.js';
import { openCloud } from '../../src/cloud/open.js';
import { availableColumns, createFiller, recordLayout, unpackRecords } from '../../src/cloud/record-layout.js';
import { collect } from './collect.js';
import { buildLas, MIN_LENGTH } from './las-builder.js';
import { MemorySource } from './memory-source.js';

// The reference below reads each field by itself from the tables of the LAS specification 1.4 revision 16 (point data
// records): first byte of each part by format. It shares nothing with the code under test.
const GPS: Record<number, number> = { 1: 20, 3: 20, 4: 20, 5: 20, 6: 22, 7: 22, 8: 22, 9: 22, 10: 22 };
const RGB: Record<number, number> = { 2: 20, 3: 28, 5: 28, 7: 30, 8: 30, 10: 30 };
const NIR: Record<number, number> = { 8: 36, 10: 36 };
const WAVE: Record<number, number> = { 4: 28, 5: 34, 9: 30, 10: 38 };

function reference(format: number, length: number, record: DataView) {
  const old = format < 6;
  const [b14, b15] = [record.getUint8(14), record.getUint8(15)];
  const bit = (byte: number, i: number) => (byte >> i) & 1;
  const bytes = (at: number, n: number) => Array.from({ length: n }, (_, i) => record.getUint8(at + i));
  return {
    x: record.getInt32(0, true),
    y: record.getInt32(4, true),
    z: record.getInt32(8, true),
    intensity: record.getUint16(12, true),
    returnNumber: old ? b14 % 8 : b14 % 16,
    returnCount: old ? Math.floor(b14 / 8) % 8 : Math.floor(b14 / 16),
    classification: old ? b15 % 32 : record.getUint8(16),
    scannerChannel: old ? 0 : Math.floor(b15 / 16) % 4,
    synthetic: old ? bit(b15, 5) : bit(b15, 0),
    keyPoint: old ? bit(b15, 6) : bit(b15, 1),
    withheld: old ? bit(b15, 7) : bit(b15, 2),
    overlap: old ? 0 : bit(b15, 3),
    scanDirection: old ? bit(b14, 6) : bit(b15, 6),
    edge: old ? bit(b14, 7) : bit(b15, 7),
    scanAngle: old ? record.getInt8(16) : record.getInt16(18, true),
    userData: record.getUint8(17),
    pointSourceId: record.getUint16(old ? 18 : 20, true),
    gpsTime: format in GPS ? record.getFloat64(GPS[format], true) : 0,
    rgb: format in RGB ? [0, 2, 4].map((d) => record.getUint16(RGB[format] + d, true)) : [0, 0, 0],
    nir: format in NIR ? record.getUint16(NIR[format], true) : 0,
    wave: format in WAVE ? bytes(WAVE[format], 29) : [],
    extra: bytes(MIN_LENGTH[format], length - MIN_LENGTH[format]),
  };
}

describe.each(MIN_LENGTH.map((n, f) => [f, n] as const))('format %i', (format, minLength) => {
  test('any bytes, any surplus, any start: every field as the tables have it', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 9 }),
        fc.integer({ min: 1, max: 7 }),
        fc.integer({ min: 0, max: 3 }),
        fc.infiniteStream(fc.nat(255)),
        (surplus, count, shift, stream) => {
          const length = minLength + surplus;
          const bytes = new Uint8Array(shift + count * length);
          for (let i = 0; i < bytes.length; i++) bytes[i] = stream.next().value;
          const layout = recordLayout(format, length);
          const batch = createBatch(availableColumns(layout, new Set(ALL_COLUMNS)), 8, surplus);
          unpackRecords(bytes, shift, count, layout, batch);
          expect(batch.count).toBe(count);
          for (let i = 0; i < count; i++) {
            const flag = (mask: number) => (batch.flags[i] & mask ? 1 : 0);
            // Bits of PointBatch.flags: 1 synthetic, 2 key-point, 4 withheld, 8 overlap, 16 direction, 32 edge.
            const got = {
              x: batch.x[i],
              y: batch.y[i],
              z: batch.z[i],
              intensity: batch.intensity[i],
              returnNumber: batch.returnNumber[i],
              returnCount: batch.returnCount[i],
              classification: batch.classification[i],
              scannerChannel: batch.scannerChannel[i],
              synthetic: flag(1),
              keyPoint: flag(2),
              withheld: flag(4),
              overlap: flag(8),
              scanDirection: flag(16),
              edge: flag(32),
              scanAngle: batch.scanAngle[i],
              userData: batch.userData[i],
              pointSourceId: batch.pointSourceId[i],
              gpsTime: batch.gpsTime[i],
              rgb: [batch.red[i], batch.green[i], batch.blue[i]],
              nir: batch.nir[i],
              wave: [...batch.waveform.subarray(29 * i, format in WAVE ? 29 * (i + 1) : 0)],
              extra: [...batch.extra.subarray(surplus * i, surplus * (i + 1))],
            };
            expect(got).toEqual(reference(format, length, new DataView(bytes.buffer, shift + i * length, length)));
          }
        },
      ),
      { seed: 100 + format, numRuns: 60 },
    );
  });

  test('columns the format lacks are not promised', () => {
    const has = availableColumns(recordLayout(format, minLength), new Set(ALL_COLUMNS));
    expect(has.has('gpsTime')).toBe(format in GPS);
    expect(has.has('colour')).toBe(format in RGB);
    expect(has.has('nir')).toBe(format in NIR);
    expect(has.has('waveform')).toBe(format in WAVE);
    expect(has.has('scannerChannel')).toBe(format >= 6);
    expect(has.has('extra')).toBe(false);
  });
});

describe('batches', () => {
  test('whatever the pieces, batches are full but the last, and ordinals run on', () => {
    const layout = recordLayout(0, 20);
    fc.assert(
      fc.property(fc.array(fc.nat(40_000), { maxLength: 6 }), fc.nat(1e6), (pieces, first) => {
        const seen: [number, number][] = [];
        const filler = createFiller(layout, new Set(['xyz']), first, (b) => seen.push([b.first, b.count]));
        for (const n of pieces) filler.append(new Uint8Array(n * 20), n);
        filler.flush();
        const total = pieces.reduce((a, b) => a + b, 0);
        const full = Math.floor(total / BLOCK_POINTS);
        const expected: [number, number][] = Array.from({ length: full }, (_, i) => [
          first + i * BLOCK_POINTS,
          BLOCK_POINTS,
        ]);
        if (total % BLOCK_POINTS) expected.push([first + full * BLOCK_POINTS, total % BLOCK_POINTS]);
        expect(seen).toEqual(expected);
      }),
      { seed: 7, numRuns: 40 },
    );
  });

  test('120,000 points across several blocks come back in order', async () => {
    const count = 120_000;
    const points = new Uint8Array(count * 28);
    const view = new DataView(points.buffer);
    for (let i = 0; i < count; i++) {
      view.setInt32(i * 28, i * 3 - 90_000, true);
      view.setFloat64(i * 28 + 20, i / 1000, true);
    }
    const cloud = await openCloud(new MemorySource(buildLas({ minor: 2, format: 1, recordLength: 28, points })));
    for (const target of [7_001, 50_000, 1e9]) {
      const all = await collect(cloud, new Set(['xyz', 'gpsTime']), target);
      expect(all.count).toBe(count);
      for (let i = 0; i < count; i++) {
        if (all.x[i] !== i * 3 - 90_000 || all.gpsTime[i] !== i / 1000) throw new Error(`point ${i}`);
      }
    }
  });

  test('the longest record the format allows, 65,535 bytes', async () => {
    const points = new Uint8Array(65_535 * 40);
    for (let i = 0; i < 40; i++) new DataView(points.buffer).setInt32(i * 65_535, i, true);
    const cloud = await openCloud(new MemorySource(buildLas({ minor: 4, format: 6, recordLength: 65_535, points })));
    const all = await collect(cloud, new Set(['xyz']));
    expect([...all.x]).toEqual(Array.from({ length: 40 }, (_, i) => i));
  });
});

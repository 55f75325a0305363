import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type FormatRule, Header } from '../../src/cloud/header.js';
import { openCloud } from '../../src/cloud/open.js';
import { Fault } from '../../src/fault.js';
import { collect, faultCode } from './collect.js';
import { buildLas, MIN_LENGTH } from './las-builder.js';
import { MemorySource } from './memory-source.js';

// Field positions: LAS specification 1.4 revision 16 and 1.5 (ASPRS), public header block.

/** A sound file of two points; `change` breaks it. */
function file(minor: number, format: number, change?: (view: DataView, bytes: Uint8Array) => void): Uint8Array {
  const recordLength = MIN_LENGTH[format];
  const points = new Uint8Array(2 * recordLength);
  const bytes = buildLas({ minor, format, recordLength, points });
  change?.(new DataView(bytes.buffer), bytes);
  return bytes;
}

const parse = (bytes: Uint8Array, size = bytes.length) => Header.parse(bytes, size, 'test.las');
const rules = (bytes: Uint8Array, size?: number) => parse(bytes, size).formatIssues.map((o) => o.rule);

describe('a sound header', () => {
  test.each([
    [0, 0],
    [0, 1],
    [1, 1],
    [2, 3],
    [3, 4],
    [3, 5],
    [4, 0],
    [4, 6],
    [4, 10],
    [5, 6],
    [5, 9],
  ])('LAS 1.%i format %i: nothing odd', (minor, format) => {
    expect(rules(file(minor, format))).toEqual([]);
  });

  test('every field is read from its place', () => {
    const bytes = file(5, 7, (v) => {
      v.setUint16(4, 4711, true);
      v.setUint16(6, 0x51, true);
      v.setUint32(8, 0x01020304, true);
      v.setUint16(12, 0x0506, true);
      v.setUint16(14, 0x0708, true);
      for (let i = 0; i < 8; i++) v.setUint8(16 + i, 0x10 + i);
      for (const [i, n] of [0.05, 0.025, 0.0125, 100, 200, 300].entries()) v.setFloat64(131 + 8 * i, n, true);
      // max x, min x, max y, min y, max z, min z
      for (const [i, n] of [9, 1, 8, 2, 7, 3].entries()) v.setFloat64(179 + 8 * i, n, true);
      v.setFloat64(375, 99.5, true);
      v.setFloat64(383, 11.5, true);
      v.setUint16(391, 300, true);
    });
    expect(parse(bytes)).toMatchObject({
      versionMajor: 1,
      versionMinor: 5,
      fileSourceId: 4711,
      globalEncoding: 0x51,
      // Printed as GUIDs are: the first three groups are little-endian numbers.
      guid: '01020304-0506-0708-1011-121314151617',
      systemIdentifier: 'OTHER',
      generatingSoftware: 'builder of the tests',
      creationDay: 60,
      creationYear: 2025,
      headerSize: 393,
      pointOffset: 393,
      vlrCount: 0,
      pointFormat: 7,
      compressed: false,
      recordLength: 36,
      legacyPointCount: 0,
      pointCount: 2,
      pointsByReturn: [2, ...Array(14).fill(0)],
      scale: [0.05, 0.025, 0.0125],
      offset: [100, 200, 300],
      max: [9, 8, 7],
      min: [1, 2, 3],
      gpsTimeMax: 99.5,
      gpsTimeMin: 11.5,
      timeOffset: 300,
      formatIssues: [],
    });
  });

  test('times of 1.5 are null before 1.5, 64-bit fields zero before 1.4', () => {
    const header = parse(file(2, 1));
    expect([header.gpsTimeMin, header.gpsTimeMax, header.timeOffset]).toEqual([null, null, null]);
    expect([header.waveformStart, header.evlrStart, header.evlrCount]).toEqual([0, 0, 0]);
    expect(header.pointsByReturn).toHaveLength(15);
  });

  test('bit 7 of the format byte marks LAZ and is not part of the format', () => {
    const header = parse(file(4, 6, (v) => v.setUint8(104, 0x86)));
    expect([header.pointFormat, header.compressed]).toEqual([6, true]);
  });
});

describe('one thing broken, one issue with its place', () => {
  const cases: [FormatRule, number, Uint8Array][] = [
    ['version', 24, file(4, 6, (v) => v.setUint8(24, 2))],
    ['version', 24, file(4, 6, (v) => v.setUint8(25, 9))],
    ['header-size', 94, file(2, 1, (v) => v.setUint16(94, 225, true))],
    ['header-text', 26, file(4, 6, (v) => v.setUint8(26 + 20, 65))],
    ['header-text', 58, file(4, 6, (v) => v.setUint8(58 + 31, 65))],
    ['creation-day', 90, file(4, 6, (v) => v.setUint16(90, 367, true))],
    // 2025, the year of the files here, has no leap day.
    ['creation-day', 90, file(4, 6, (v) => v.setUint16(90, 366, true))],
    ['creation-year', 92, file(4, 6, (v) => v.setUint16(92, 25, true))],
    ['encoding-reserved', 6, file(4, 6, (v) => v.setUint16(6, 0x8010, true))],
    ['encoding-waveform', 6, file(4, 6, (v) => v.setUint16(6, 0x16, true))],
    ['encoding-wkt', 6, file(4, 6, (v) => v.setUint16(6, 1, true))],
    ['time-offset-flag', 6, file(5, 6, (v) => v.setUint16(6, 0x50, true))],
    ['time-offset', 391, file(5, 6, (v) => v.setUint16(391, 7, true))],
    ['format-for-version', 104, file(1, 3)],
    ['format-for-version', 104, file(5, 1)],
    ['format-bits', 104, file(4, 6, (v) => v.setUint8(104, 0x46))],
    ['point-offset', 96, file(4, 6, (v) => v.setUint32(96, 374, true)).subarray(0, 434)],
    ['scale', 139, file(4, 6, (v) => v.setFloat64(139, 0, true))],
    ['scale', 131, file(4, 6, (v) => v.setFloat64(131, Number.NaN, true))],
    ['offset', 171, file(4, 6, (v) => v.setFloat64(171, Number.POSITIVE_INFINITY, true))],
    ['box-not-finite', 195, file(4, 6, (v) => v.setFloat64(203, Number.NaN, true))],
    ['box-order', 211, file(4, 6, (v) => v.setFloat64(219, 1, true))],
    ['gps-range-order', 375, file(5, 6, (v) => v.setFloat64(383, 1, true))],
    ['count-by-return', 255, file(4, 6, (v) => v.setUint32(255, 3, true))],
    ['count-by-return', 111, file(2, 1, (v) => v.setUint32(115, 1, true))],
    ['count-legacy-format', 107, file(4, 6, (v) => v.setUint32(107, 2, true))],
    [
      'count-legacy-differs',
      111,
      file(4, 1, (v) => {
        v.setUint32(111, 1, true);
        v.setUint32(115, 1, true);
      }),
    ],
    ['points-beyond-file', 247, file(4, 6).subarray(0, 375 + 59)],
    ['evlr-start-set', 235, file(4, 6, (v) => v.setUint32(235, 99, true))],
    ['evlr-start', 235, file(4, 6, (v) => v.setUint32(243, 1, true))],
    ['waveform-start-set', 227, file(4, 6, (v) => v.setUint32(227, 99, true))],
    ['waveform-start', 227, file(4, 9, (v) => v.setUint16(6, 0x12, true))],
  ];
  test.each(cases)('%s at byte %i', (rule, offset, bytes) => {
    const { formatIssues } = parse(bytes);
    const odd = formatIssues.find((o) => o.rule === rule);
    expect(odd?.offset).toBe(offset);
    expect(odd?.text).toMatch(/^[^.].*[^.]$/);
    // Nothing else is accused.
    expect(new Set(formatIssues.map((o) => o.rule))).toEqual(new Set([rule]));
  });

  test('text without terminator in a full field is allowed', () => {
    expect(
      rules(
        file(4, 6, (v) => {
          for (let i = 0; i < 32; i++) v.setUint8(26 + i, 65);
        }),
      ),
    ).toEqual([]);
  });

  test('bytes behind the last point are counted', () => {
    const whole = file(2, 1);
    const longer = new Uint8Array(whole.length + 12);
    longer.set(whole);
    expect(parse(longer).formatIssues).toMatchObject([{ rule: 'bytes-after-points', offset: whole.length, found: 12 }]);
  });

  test('extents must be zero without points, from the empty file on', () => {
    const empty = buildLas({ minor: 4, format: 6, recordLength: 30, points: new Uint8Array(0) });
    expect(rules(empty)).toEqual([]);
    new DataView(empty.buffer).setFloat64(179, 5, true);
    expect(rules(empty)).toEqual(['box-empty']);
  });
});

describe('which count holds', () => {
  const counts = (format: number, legacy: number, wide: number) =>
    parse(
      file(4, format, (v) => {
        v.setUint32(107, legacy, true);
        v.setBigUint64(247, BigInt(wide), true);
      }),
    );
  // LAS 1.4, legacy compatibility: equal counts; zero legacy; a non-zero legacy count that differs wins for formats 0 to 5.
  test('equal', () => expect(counts(1, 2, 2).pointCount).toBe(2));
  test('legacy not set', () => expect(counts(1, 0, 2).pointCount).toBe(2));
  test('only legacy set: used and noted', () => {
    const header = counts(1, 2, 0);
    expect(header.pointCount).toBe(2);
    expect(header.formatIssues.map((o) => o.rule)).toContain('count-missing');
  });
  test('differing, format 1: legacy, and noted', () => {
    const header = counts(1, 1, 2);
    expect([header.pointCount, header.pointCountAt]).toEqual([1, 107]);
    expect(header.formatIssues.map((o) => o.rule)).toContain('count-legacy-differs');
  });
  test('differing, format 6: 64-bit', () => expect(counts(6, 1, 2).pointCount).toBe(2));
  test('a header shorter than 1.4 has no 64-bit count, whatever it claims to be', () => {
    const header = parse(
      file(4, 1, (v) => {
        v.setUint16(94, 227, true);
        v.setBigUint64(247, 77n, true);
      }),
    );
    expect(header.pointCount).toBe(2);
  });
  test('more than 4,294,967,295 points with legacy counts', () => {
    const found = rules(
      file(4, 1, (v) => {
        v.setBigUint64(247, 5_000_000_000n, true);
        v.setUint32(107, 5_000_000_000 % 2 ** 32, true);
      }),
    );
    expect(found).toContain('count-legacy-large');
  });
});

describe('what cannot be read is thrown', () => {
  const code = (bytes: Uint8Array, size?: number) => {
    try {
      parse(bytes, size);
    } catch (error) {
      if (error instanceof Fault) return [error.facts.code, error.facts.where];
      throw error;
    }
    return 'nothing thrown';
  };
  test('no signature', () => expect(code(file(4, 6, (v) => v.setUint8(0, 0x6c)))).toEqual(['not-a-cloud', 'test.las']));
  test('nothing at all', () => expect(code(new Uint8Array(0))).toEqual(['not-a-cloud', 'test.las']));
  test('cut inside the header', () =>
    expect(code(file(4, 6).subarray(0, 226))).toEqual(['header-too-short', 'test.las']));
  test('unknown format', () =>
    expect(code(file(4, 6, (v) => v.setUint8(104, 11)))).toEqual(['point-format-unknown', 'test.las']));
  test.each(MIN_LENGTH.map((n, f) => [f, n] as const))('format %i needs %i bytes', (format, length) => {
    expect(code(file(4, format))).toBe('nothing thrown');
    expect(code(file(4, format, (v) => v.setUint16(105, length - 1, true)))).toEqual([
      'record-length-short',
      'test.las',
    ]);
  });
  test('points behind the end', () =>
    expect(code(file(4, 6, (v) => v.setUint32(96, 1e6, true)))).toEqual(['points-outside-file', 'test.las']));
});

describe('lies about size', () => {
  test('2^60 points: said to be impossible, a Fault for spans, and nothing allocated', async () => {
    const bytes = file(4, 6, (v) => v.setBigUint64(247, 2n ** 60n, true));
    const cloud = await openCloud(new MemorySource(bytes));
    expect(cloud.header.pointCount).toBe(2 ** 60);
    expect(cloud.formatIssues.map((o) => o.rule)).toEqual(expect.arrayContaining(['count-inexact', 'count-by-return']));
    const before = process.memoryUsage().arrayBuffers;
    expect(await faultCode(cloud.spans(1e6))).toBe('file-truncated');
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(1 << 20);
  });

  test('a truncated file says how many points are left', async () => {
    const bytes = file(2, 1).subarray(0, 227 + 28 + 5);
    const cloud = await openCloud(new MemorySource(bytes, 'cut.las'));
    await expect(cloud.spans(10)).rejects.toThrow(/cut\.las: .*found 1 points, expected 2 points/);
  });

  test('zero points: no spans, whatever the packing', async () => {
    const bytes = buildLas({ minor: 2, format: 1, recordLength: 28, points: new Uint8Array(0) });
    expect(await (await openCloud(new MemorySource(bytes))).spans(10)).toEqual([]);
    bytes[104] |= 0x80;
    expect(await (await openCloud(new MemorySource(bytes))).spans(10)).toEqual([]);
  });

  test('zero, infinite or missing scale: Fault bad-scale', async () => {
    for (const [at, value] of [
      [131, 0],
      [147, Number.NaN],
      [139, Number.NEGATIVE_INFINITY],
      [163, Number.NaN],
    ]) {
      const cloud = await openCloud(new MemorySource(file(2, 1, (v) => v.setFloat64(at, value, true))));
      expect(await faultCode(cloud.spans(10))).toBe('bad-scale');
    }
  });

  test('the source is closed when opening fails', async () => {
    const source = new MemorySource(new Uint8Array(500));
    expect(await faultCode(openCloud(source))).toBe('not-a-cloud');
    expect(source.closed).toBe(true);
  });
});

describe('whatever the bytes are', () => {
  test('random damage to a file ends in a result or a Fault, never in anything else, and never in much memory', async () => {
    const seedFile = buildLas({
      minor: 4,
      format: 7,
      recordLength: 40,
      points: Uint8Array.from({ length: 400 }, (_, i) => i),
      vlrs: [{ userId: 'LASF_Spec', recordId: 4, payload: new Uint8Array(192) }],
      evlrs: [{ userId: 'some', recordId: 1, payload: new Uint8Array(30) }],
    });
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(fc.nat(seedFile.length - 1), fc.nat(255)), { minLength: 1, maxLength: 12 }),
        fc.nat(seedFile.length),
        async (changes, cut) => {
          const bytes = seedFile.slice(0, seedFile.length - (cut % 7 === 0 ? cut : 0));
          for (const [at, value] of changes) if (at > 3 && at < bytes.length) bytes[at] = value;
          try {
            const cloud = await openCloud(new MemorySource(bytes));
            await cloud.spans(5);
            if (cloud.header.pointCount < 1000) await collect(cloud);
          } catch (error) {
            if (!(error instanceof Fault)) throw error;
          }
        },
      ),
      { seed: 11, numRuns: 1500 },
    );
  });

  test('random bytes behind a signature', async () => {
    await fc.assert(
      fc.asyncProperty(fc.uint8Array({ minLength: 0, maxLength: 900 }), async (tail) => {
        const bytes = new Uint8Array(4 + tail.length);
        bytes.set([0x4c, 0x41, 0x53, 0x46]);
        bytes.set(tail, 4);
        try {
          await openCloud(new MemorySource(bytes));
        } catch (error) {
          if (!(error instanceof Fault)) throw error;
        }
      }),
      { seed: 12, numRuns: 1000 },
    );
  });
});

import { describe, expect, test } from 'vitest';
import { Header } from '../../src/cloud/header.js';
import { findRecord, readRecords } from '../../src/cloud/vlr.js';
import { buildLas, type RecordSpec, utf8 } from './las-builder.js';
import { MemorySource } from './memory-source.js';

// Layout: LAS specification 1.4 revision 16 (ASPRS), variable length records and extended variable length records.

const record = (userId: string, recordId: number, size: number, description = ''): RecordSpec => ({
  userId,
  recordId,
  payload: Uint8Array.from({ length: size }, (_, i) => i),
  description,
});

function build(vlrs: RecordSpec[], evlrs: RecordSpec[] = [], minor = 4, points = 30): Uint8Array {
  const format = minor < 4 ? 1 : 6;
  return buildLas({
    minor,
    format,
    recordLength: minor < 4 ? 28 : 30,
    points: new Uint8Array(minor < 4 ? 28 : points),
    vlrs,
    evlrs,
  });
}

async function read(bytes: Uint8Array) {
  const source = new MemorySource(bytes);
  const records = await readRecords(source, Header.parse(bytes, bytes.length));
  return { ...records, rules: records.formatIssues.map((o) => o.rule), source };
}

test('VLRs, then EVLRs, in file order, with place and payload', async () => {
  const { vlrs, rules } = await read(
    build([record('one', 7, 5, 'first'), record('two', 8, 0)], [record('three', 9, 70_000, 'far behind')]),
  );
  expect(rules).toEqual([]);
  expect(vlrs.map(({ payload, ...v }) => ({ ...v, payload: payload.length }))).toEqual([
    {
      userId: 'one',
      recordId: 7,
      description: 'first',
      offset: 375,
      payloadOffset: 429,
      length: 5,
      extended: false,
      payload: 5,
      skipped: false,
    },
    {
      userId: 'two',
      recordId: 8,
      description: '',
      offset: 434,
      payloadOffset: 488,
      length: 0,
      extended: false,
      payload: 0,
      skipped: false,
    },
    {
      userId: 'three',
      recordId: 9,
      description: 'far behind',
      offset: 518,
      payloadOffset: 578,
      length: 70_000,
      extended: true,
      payload: 70_000,
      skipped: false,
    },
  ]);
  expect([...vlrs[0].payload]).toEqual([0, 1, 2, 3, 4]);
  expect(vlrs[2].payload[69_999]).toBe(69_999 % 256);
  expect(findRecord(vlrs, 'two', 8)).toBe(vlrs[1]);
  expect(findRecord(vlrs, 'two', 9)).toBeNull();
});

test('names in UTF-8 and in Latin-1', async () => {
  const bytes = build([record('Höhe', 1, 0)]);
  // The builder writes one byte a character, which is Latin-1.
  expect((await read(bytes)).vlrs[0].userId).toBe('Höhe');
  bytes.set([...utf8('Höhe'), 0], 375 + 2);
  expect((await read(bytes)).vlrs[0].userId).toBe('Höhe');
});

describe('lies', () => {
  test('4 billion records announced: those that are there', async () => {
    const bytes = build([record('one', 1, 10)]);
    new DataView(bytes.buffer).setUint32(100, 0xffffffff, true);
    const { vlrs, formatIssues } = await read(bytes);
    expect(vlrs).toHaveLength(1);
    expect(formatIssues).toMatchObject([{ rule: 'vlr-count', offset: 100, found: 1, expected: 0xffffffff }]);
  });

  test('a record reaching into the points', async () => {
    const bytes = build([record('one', 1, 10), record('two', 2, 10)]);
    new DataView(bytes.buffer).setUint16(375 + 64 + 20, 11, true);
    const { vlrs, rules } = await read(bytes);
    expect(vlrs.map((v) => v.userId)).toEqual(['one']);
    expect(rules).toEqual(['vlr-beyond-points']);
  });

  test('an extended record of 2^63 bytes is not allocated', async () => {
    const bytes = build([], [record('big', 1, 100)]);
    new DataView(bytes.buffer).setBigUint64(375 + 30 + 20, 2n ** 63n, true);
    const { vlrs, formatIssues, source } = await read(bytes);
    expect(vlrs).toEqual([]);
    expect(formatIssues[0]).toMatchObject({
      rule: 'evlr-beyond-file',
      offset: 405,
      found: 2 ** 63,
      expected: 'at most 100',
    });
    expect(source.bytesRead).toBeLessThanOrEqual(bytes.length);
  });

  test('extended records said to start outside the file are not looked for', async () => {
    for (const start of [3n, 2n ** 62n]) {
      const bytes = build([], [record('x', 1, 0)]);
      new DataView(bytes.buffer).setBigUint64(235, start, true);
      expect((await read(bytes)).vlrs).toEqual([]);
    }
  });

  test('a header size of zero does not make the header its own records', async () => {
    const bytes = build([record('one', 1, 3)]);
    new DataView(bytes.buffer).setUint16(94, 0, true);
    expect((await read(bytes)).vlrs.map((v) => v.userId)).toEqual(['one']);
  });

  test('reserved word: 0 passes, the 0xAABB of LAS 1.0 only before 1.4, others are noted', async () => {
    for (const [minor, word, expected] of [
      [4, 0, []],
      [2, 0xaabb, []],
      [4, 0xaabb, ['vlr-reserved']],
      [2, 1, ['vlr-reserved']],
    ] as const) {
      const bytes = build([record('one', 1, 3)], [], minor);
      new DataView(bytes.buffer).setUint16(minor === 4 ? 375 : 227, word, true);
      expect((await read(bytes)).rules).toEqual(expected);
    }
  });

  test('text behind a terminator', async () => {
    const bytes = build([record('one', 1, 3)]);
    bytes[375 + 2 + 10] = 65;
    expect((await read(bytes)).rules).toEqual(['vlr-text']);
  });
});

test('bytes between the last record and the points, but not the two-byte mark of LAS 1.0', async () => {
  const shift = async (minor: number, gap: number, mark = false) => {
    const whole = build([], [], minor);
    const bytes = new Uint8Array(whole.length + gap);
    bytes.set(whole.subarray(0, 227));
    bytes.set(whole.subarray(227), 227 + gap);
    const view = new DataView(bytes.buffer);
    view.setUint32(96, 227 + gap, true);
    if (mark) view.setUint16(227 + gap - 2, 0xccdd, true);
    return (await read(bytes)).formatIssues.map((o) => [o.rule, o.offset, o.found]);
  };
  expect(await shift(0, 2, true)).toEqual([]);
  expect(await shift(0, 2)).toEqual([['point-mark', 229, 'other bytes']]);
  expect(await shift(0, 0)).toEqual([['point-mark', 227, 'none']]);
  expect(await shift(2, 2)).toEqual([['vlr-gap', 227, 2]]);
  expect(await shift(0, 5, true)).toEqual([['vlr-gap', 227, 3]]);
});

test('waveforms and hierarchies stay in the file', async () => {
  const { vlrs } = await read(
    build([], [record('LASF_Spec', 65535, 5000), record('copc', 1000, 320), record('other', 65535, 5)]),
  );
  expect(vlrs.map((v) => [v.skipped, v.payload.length, v.length])).toEqual([
    [true, 0, 5000],
    [true, 0, 320],
    [false, 5, 5],
  ]);
});

test('a hundred thousand records cost a bounded list', async () => {
  const bytes = build(Array.from({ length: 100_000 }, (_, i) => record('many', i & 0xffff, 0)));
  const { vlrs, formatIssues } = await read(bytes);
  expect(vlrs).toHaveLength(20_000);
  expect(formatIssues).toMatchObject([{ rule: 'vlr-count', found: 20_000, expected: 100_000 }]);
});

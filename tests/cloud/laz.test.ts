import { readFileSync } from 'node:fs';
import { Las } from 'copc';
import fc from 'fast-check';
import { createLazPerf } from 'laz-perf';
import { describe, expect, test } from 'vitest';
import { readChunkTable } from '../../src/cloud/chunk-table.js';
import { Header } from '../../src/cloud/header.js';
import { readLazRecord } from '../../src/cloud/laz-record.js';
import { openCloud } from '../../src/cloud/open.js';
import { readRecords } from '../../src/cloud/vlr.js';
import { Fault } from '../../src/fault.js';
import { collect, faultCode, KEYS, sameBytes } from './collect.js';
import { MemorySource } from './memory-source.js';

// Layouts: LASzip specification (LAZ record, chunk table, layered chunks).

const sample = (name: string) => new Uint8Array(readFileSync(`test-clouds/formats/${name}`));
const open = (bytes: Uint8Array) => openCloud(new MemorySource(bytes, 'sample.laz'));
const viewOf = (bytes: Uint8Array) => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

async function parts(bytes: Uint8Array) {
  const source = new MemorySource(bytes);
  const header = Header.parse(bytes, bytes.length);
  const { vlrs } = await readRecords(source, header);
  const laz = readLazRecord(vlrs, 'sample');
  return { source, header, vlrs, laz, recordAt: vlrs.find((v) => v.userId === 'laszip encoded')!.payloadOffset };
}

async function table(bytes: Uint8Array) {
  const { source, header, laz } = await parts(bytes);
  return readChunkTable(source, header, laz);
}

describe('against the whole-file decoder of laz-perf, which reads the chunk table by itself', () => {
  test.each([
    'v12-pf00',
    'v12-pf01',
    'v12-pf02',
    'v12-pf03',
    'v12-pf01-extrabytes',
    'v14-pf06',
    'v14-pf07-extrabytes',
    'v14-pf08',
  ])('%s: the same records, byte for byte', async (name) => {
    const bytes = sample(`laz/${name}.laz`);
    const records = await Las.PointData.decompressFile(bytes, await createLazPerf());
    // The same records as an uncompressed file: the header's compression bit cleared.
    const header = Header.parse(bytes, bytes.length);
    const las = new Uint8Array(header.pointOffset + records.length);
    las.set(bytes.subarray(0, header.pointOffset));
    las[104] &= 0x7f;
    las.set(records, header.pointOffset);
    const a = await collect(await open(bytes));
    const b = await collect(await open(las));
    expect(a.count).toBe(4500);
    for (const key of KEYS) expect(sameBytes(a[key], b[key]), key).toBe(true);
  });
});

describe('chunk table', () => {
  test('chunks of 1,000 points, the rest in the last, one behind the other', async () => {
    const pieces = await table(sample('laz/v14-pf07.laz'));
    expect(pieces.map((p) => p.points)).toEqual([1000, 1000, 1000, 1000, 500]);
    for (let i = 1; i < pieces.length; i++) expect(pieces[i].begin).toBe(pieces[i - 1].end);
  });

  test.each([6, 7, 8])(
    'variable sizes: the table of COPC format %i lists the nodes of its hierarchy',
    async (format) => {
      const bytes = sample(`copc/v14-pf0${format}.copc.laz`);
      const { laz } = await parts(bytes);
      expect(laz.chunkSize).toBeNull();
      const cloud = await open(bytes);
      const [span] = await cloud.spans(1e9);
      expect(await table(bytes)).toEqual(span.pieces.map(({ begin, end, points }) => ({ begin, end, points })));
      expect(cloud.formatIssues.map((o) => o.rule)).not.toContain('laz-chunk-table');
    },
  );

  test('position in the last eight bytes when the writer could not go back', async () => {
    const bytes = sample('laz/v12-pf01.laz');
    const { pointOffset } = Header.parse(bytes, bytes.length);
    const moved = new Uint8Array(bytes.length + 8);
    moved.set(bytes);
    viewOf(moved).setBigInt64(bytes.length, viewOf(bytes).getBigInt64(pointOffset, true), true);
    viewOf(moved).setBigInt64(pointOffset, -1n, true);
    expect(await table(moved)).toEqual(await table(bytes));
  });

  const broken = async (
    change: (view: DataView, tableAt: number, pointOffset: number) => void,
    name = 'laz/v12-pf01.laz',
  ) => {
    const bytes = sample(name);
    const view = viewOf(bytes);
    const { pointOffset } = Header.parse(bytes, bytes.length);
    change(view, Number(view.getBigInt64(pointOffset, true)), pointOffset);
    const cloud = await open(bytes);
    return faultCode(cloud.spans(1000).then((spans) => spans));
  };
  test('writer interrupted', async () =>
    expect(await broken((v, _, at) => v.setBigInt64(at, BigInt(at), true))).toBe('laz-interrupted'));
  test('position before the points', async () =>
    expect(await broken((v, _, at) => v.setBigInt64(at, 5n, true))).toBe('laz-chunk-table'));
  test('negative position', async () =>
    expect(await broken((v, _, at) => v.setBigInt64(at, -2n, true))).toBe('laz-chunk-table'));
  test('position behind the end', async () =>
    expect(await broken((v, _, at) => v.setBigInt64(at, 2n ** 62n, true))).toBe('file-truncated'));
  test('unknown version', async () =>
    expect(await broken((v, at) => v.setUint32(at, 1, true))).toBe('laz-chunk-table'));
  test('four billion chunks', async () =>
    expect(await broken((v, at) => v.setUint32(at + 4, 0xffffffff, true))).toBe('laz-chunk-table'));
  test('one chunk too few', async () =>
    expect(await broken((v, at) => v.setUint32(at + 4, 4, true))).toBe('laz-chunk-table'));
  test('damaged sizes', async () =>
    expect(await broken((v, at) => v.setUint8(at + 9, v.getUint8(at + 9) ^ 0x40))).toBe('laz-chunk-table'));
  test('header announces more than the chunks hold', async () =>
    expect(await broken((v) => v.setUint32(107, 6000, true))).toBe('laz-count-differs'));
  test("header announces fewer than the chunks hold: the chunks behind are not read, the count is the header's", async () => {
    const bytes = sample('laz/v12-pf01.laz');
    viewOf(bytes).setUint32(107, 2000, true);
    expect((await table(bytes)).map((p) => p.points)).toEqual([1000, 1000]);
  });
});

describe('LAZ record: refused before decoding', () => {
  const withRecord = async (change: (view: DataView, at: number) => void, name = 'laz/v14-pf06.laz') => {
    const bytes = sample(name);
    const { recordAt } = await parts(bytes);
    change(viewOf(bytes), recordAt);
    return open(bytes);
  };
  const code = async (change: (view: DataView, at: number) => void, name?: string) =>
    faultCode((await withRecord(change, name)).spans(1000));
  // u16 compressor at 0, u16 coder at 2, u32 chunk size at 12, u16 items at 32, then type, size, version of each
  test('other compressors', async () => {
    for (const n of [0, 1, 2, 4])
      expect(await code((v, at) => v.setUint16(at, n, true))).toBe('laz-format-unsupported');
    for (const n of [0, 1, 3])
      expect(await code((v, at) => v.setUint16(at, n, true), 'laz/v12-pf03.laz')).toBe('laz-format-unsupported');
  });
  test('other coder', async () =>
    expect(await code((v, at) => v.setUint16(at + 2, 1, true))).toBe('laz-format-unsupported'));
  test('other item versions', async () => {
    for (const n of [0, 1, 2, 99]) expect(await code((v, at) => v.setUint16(at + 38, n, true))).toBe('laz-items');
    for (const n of [0, 1, 3, 4])
      expect(await code((v, at) => v.setUint16(at + 38, n, true), 'laz/v12-pf01.laz')).toBe('laz-items');
  });
  test('items that do not fit the format', async () => {
    expect(await code((v, at) => v.setUint16(at + 36, 31, true))).toBe('laz-items');
    expect(await code((v, at) => v.setUint16(at + 34, 6, true))).toBe('laz-items');
    expect(await code((v, at) => v.setUint16(at + 32, 2, true))).toBe('laz-record-damaged');
    expect(await code((v, at) => v.setUint16(at + 32, 0, true))).toBe('laz-record-damaged');
  });
  test('chunks of no points', async () =>
    expect(await code((v, at) => v.setUint32(at + 12, 0, true))).toBe('laz-record-damaged'));
  test('record missing', async () =>
    expect(await code((v, at) => v.setUint8(at - 54 + 2, 0x4c))).toBe('laz-record-missing'));
  test('decode refuses as spans does', async () => {
    const cloud = await withRecord((v, at) => v.setUint16(at + 38, 9, true));
    const span = { first: 0, points: 1, pieces: [] };
    expect(await faultCode(cloud.decode(span, new Set(['xyz']), () => {}))).toBe('laz-items');
  });
});

describe('layered chunks', () => {
  async function firstChunk(change: (view: DataView, chunkAt: number) => void) {
    const bytes = sample('laz/v14-pf06.laz');
    const [first] = await table(bytes);
    change(viewOf(bytes), first.begin);
    const cloud = await open(bytes);
    return faultCode(collect(cloud, new Set(['xyz'])));
  }
  // First point of 30 bytes, u32 number of points, nine u32 sizes.
  test('another number of points', async () =>
    expect(await firstChunk((v, at) => v.setUint32(at + 30, 999, true))).toBe('laz-chunk-damaged'));
  test('sizes that do not add up', async () =>
    expect(await firstChunk((v, at) => v.setUint32(at + 34, 1, true))).toBe('laz-chunk-damaged'));
  test('a size of four billion', async () =>
    expect(await firstChunk((v, at) => v.setUint32(at + 38, 0xfffffff0, true))).toBe('laz-chunk-damaged'));
});

describe('damage', () => {
  test('cut anywhere before the chunk table: a Fault, from spans at the latest', async () => {
    const bytes = sample('laz/v12-pf03.laz');
    const { pointOffset } = Header.parse(bytes, bytes.length);
    const tableAt = Number(viewOf(bytes).getBigInt64(pointOffset, true));
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: 0, max: tableAt }), async (length) => {
        const code = await faultCode(open(bytes.slice(0, length)).then((cloud) => cloud.spans(1000)));
        expect(['not-a-cloud', 'header-too-short', 'points-outside-file', 'file-truncated']).toContain(code);
      }),
      { seed: 5, numRuns: 150 },
    );
  });

  test.each(['laz/v12-pf03.laz', 'laz/v14-pf08.laz', 'laz/v14-pf06-extrabytes.laz'])(
    'overwritten bytes in %s: points or a Fault, nothing else, and good files still decode exactly afterwards',
    async (name) => {
      const good = sample(name);
      const expected = await collect(await open(good));
      const { pointOffset } = Header.parse(good, good.length);
      await fc.assert(
        fc.asyncProperty(
          fc.integer({ min: pointOffset + 8, max: good.length - 200 }),
          fc.uint8Array({ minLength: 1, maxLength: 200 }),
          async (at, junk) => {
            const bytes = good.slice();
            bytes.set(junk, at);
            try {
              await collect(await open(bytes));
            } catch (error) {
              if (!(error instanceof Fault)) throw error;
            }
          },
        ),
        { seed: 6, numRuns: 40 },
      );
      const again = await collect(await open(good));
      for (const key of KEYS) expect(sameBytes(again[key], expected[key]), key).toBe(true);
    },
    60_000,
  );

  test('a chunk too small for its points is refused at once', async () => {
    const cloud = await open(sample('laz/v12-pf01.laz'));
    const [{ pieces }] = await cloud.spans(1);
    const span = { first: 0, points: 4e9, pieces: [{ ...pieces[0], end: pieces[0].begin + 100, points: 4e9 }] };
    expect(await faultCode(cloud.decode(span, new Set(['xyz']), () => {}))).toBe('laz-chunk-damaged');
  });

  test('what the sink throws comes out as it is', async () => {
    const cloud = await open(sample('laz/v14-pf06.laz'));
    const [span] = await cloud.spans(1e9);
    const mine = new RangeError('mine');
    const run = cloud.decode(span, new Set(['xyz']), () => {
      throw mine;
    });
    await expect(run).rejects.toBe(mine);
    expect((await collect(cloud)).count).toBe(4500);
  });
});

import { readFileSync } from 'node:fs';
import { Copc, type Hierarchy, Las } from 'copc';
import { createLazPerf } from 'laz-perf';
import { describe, expect, test } from 'vitest';
import { isCopc, readCopcInfo } from '../../src/cloud/copc.js';
import { readHierarchy } from '../../src/cloud/copc-hierarchy.js';
import { type FormatIssue, Header } from '../../src/cloud/header.js';
import { openCloud } from '../../src/cloud/open.js';
import { readRecords } from '../../src/cloud/vlr.js';
import { collect, faultCode } from './collect.js';
import { MemorySource } from './memory-source.js';

const sample = (name: string) => new Uint8Array(readFileSync(`test-clouds/formats/${name}`));
const viewOf = (bytes: Uint8Array) => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
const open = (bytes: Uint8Array) => openCloud(new MemorySource(bytes, 'sample.copc.laz'));

/** Reading of a file with the copc package, the outside reference. */
async function outside(bytes: Uint8Array) {
  const getter = async (begin: number, end: number) => bytes.slice(begin, end);
  const copc = await Copc.create(getter);
  const nodes: Record<string, Hierarchy.Node> = {};
  const pages: Hierarchy.Page[] = [copc.info.rootHierarchyPage];
  for (let page = pages.pop(); page; page = pages.pop()) {
    const subtree = await Copc.loadHierarchyPage(getter, page);
    for (const [key, node] of Object.entries(subtree.nodes)) if (node && node.pointCount > 0) nodes[key] = node;
    for (const child of Object.values(subtree.pages)) if (child) pages.push(child);
  }
  return { copc, nodes, getter };
}

async function inside(bytes: Uint8Array) {
  const source = new MemorySource(bytes);
  const header = Header.parse(bytes, bytes.length);
  const { vlrs } = await readRecords(source, header);
  const info = readCopcInfo(vlrs);
  const formatIssues: FormatIssue[] = [];
  return { header, vlrs, info, formatIssues, nodes: await readHierarchy(source, header, info, formatIssues) };
}

describe.each([6, 7, 8])('COPC format %i against the copc package', (format) => {
  const bytes = sample(`copc/v14-pf0${format}.copc.laz`);

  test('info and hierarchy', async () => {
    const [ours, theirs] = [await inside(bytes), await outside(bytes)];
    const { cube, spacing, rootHierarchyPage, gpsTimeRange } = theirs.copc.info;
    const { center, halfSize } = ours.info;
    expect([...center.map((c) => c - halfSize), ...center.map((c) => c + halfSize)]).toEqual(cube);
    expect(ours.info.spacing).toBe(spacing);
    expect([ours.info.rootOffset, ours.info.rootSize]).toEqual([
      rootHierarchyPage.pageOffset,
      rootHierarchyPage.pageLength,
    ]);
    expect([ours.info.gpsTimeMin, ours.info.gpsTimeMax]).toEqual(gpsTimeRange);
    const listed = Object.fromEntries(
      ours.nodes.map((n) => [
        [n.level, ...n.place].join('-'),
        { pointCount: n.points, pointDataOffset: n.begin, pointDataLength: n.end - n.begin },
      ]),
    );
    expect(listed).toEqual(theirs.nodes);
    expect(ours.formatIssues).toEqual([]);
  });

  test('points of every node, field by field', async () => {
    const theirs = await outside(bytes);
    const lazPerf = await createLazPerf();
    const all = await collect(await open(bytes));
    const { scale, offset } = Header.parse(bytes, bytes.length);
    let i = 0;
    for (const node of Object.values(theirs.nodes).sort((a, b) => a.pointDataOffset - b.pointDataOffset)) {
      const view = await Copc.loadPointDataView(theirs.getter, theirs.copc, node, { lazPerf });
      const get = Object.fromEntries(Object.keys(view.dimensions).map((d) => [d, view.getter(d)]));
      for (let k = 0; k < view.pointCount; k++, i++) {
        const flag = (mask: number) => (all.flags[i] & mask ? 1 : 0);
        const mine: Record<string, number> = {
          X: all.x[i] * scale[0] + offset[0],
          Y: all.y[i] * scale[1] + offset[1],
          Z: all.z[i] * scale[2] + offset[2],
          Intensity: all.intensity[i],
          ReturnNumber: all.returnNumber[i],
          NumberOfReturns: all.returnCount[i],
          Classification: all.classification[i],
          ScannerChannel: all.scannerChannel[i],
          ScanDirectionFlag: flag(16),
          EdgeOfFlightLine: flag(32),
          UserData: all.userData[i],
          PointSourceId: all.pointSourceId[i],
          GpsTime: all.gpsTime[i],
          Red: all.red[i],
          Green: all.green[i],
          Blue: all.blue[i],
          Infrared: all.nir[i],
        };
        for (const [dimension, value] of Object.entries(mine)) {
          if (get[dimension] && get[dimension](k) !== value)
            throw new Error(`${dimension} of point ${i}: ${value}, copc has ${get[dimension](k)}`);
        }
      }
    }
    expect(i).toBe(4500);
  });
});

describe.each([
  'las/v12-pf00',
  'las/v12-pf01',
  'las/v12-pf02',
  'las/v12-pf03',
  'las/v14-pf06',
  'las/v14-pf07',
  'las/v14-pf08',
  'las/v14-pf06-extrabytes',
])('%s against the copc package', (name) => {
  test('header, records and points', async () => {
    const bytes = sample(`${name}.las`);
    const theirs = Las.Header.parse(bytes);
    const cloud = await open(bytes);
    const { header } = cloud;
    expect(header).toMatchObject({
      fileSourceId: theirs.fileSourceId,
      globalEncoding: theirs.globalEncoding,
      headerSize: theirs.headerLength,
      pointOffset: theirs.pointDataOffset,
      vlrCount: theirs.vlrCount,
      pointFormat: theirs.pointDataRecordFormat,
      recordLength: theirs.pointDataRecordLength,
      pointCount: theirs.pointCount,
      pointsByReturn: [...theirs.pointCountByReturn, ...Array(15 - theirs.pointCountByReturn.length).fill(0)],
      scale: theirs.scale,
      offset: theirs.offset,
      min: theirs.min,
      max: theirs.max,
      evlrStart: theirs.evlrOffset,
      evlrCount: theirs.evlrCount,
      waveformStart: theirs.waveformDataOffset,
    });
    const vlrs = await Las.Vlr.walk(async (b, e) => bytes.slice(b, e), theirs);
    expect(cloud.vlrs.map((v) => [v.userId, v.recordId, v.payloadOffset, v.length, v.extended])).toEqual(
      vlrs.map((v) => [v.userId, v.recordId, v.contentOffset, v.contentLength, v.isExtended]),
    );
    const view = Las.View.create(bytes.slice(theirs.pointDataOffset), theirs);
    const all = await collect(cloud);
    const pairs: [string, ArrayLike<number>][] = [
      ['Intensity', all.intensity],
      ['ReturnNumber', all.returnNumber],
      ['NumberOfReturns', all.returnCount],
      ['PointSourceId', all.pointSourceId],
      ['UserData', all.userData],
    ];
    if (view.dimensions.GpsTime) pairs.push(['GpsTime', all.gpsTime]);
    if (view.dimensions.Red) pairs.push(['Red', all.red], ['Green', all.green], ['Blue', all.blue]);
    for (const [dimension, column] of pairs) {
      const get = view.getter(dimension);
      for (let i = 0; i < 4500; i++) if (get(i) !== column[i]) throw new Error(`${dimension} of point ${i}`);
    }
    for (const [axis, raw] of [all.x, all.y, all.z].entries()) {
      const get = view.getter('XYZ'[axis]);
      for (let i = 0; i < 4500; i++) {
        if (get(i) !== raw[i] * header.scale[axis] + header.offset[axis]) throw new Error(`coordinate of point ${i}`);
      }
    }
  });
});

describe('detection', () => {
  test('by content: the LAZ twin is no COPC, the COPC file is, whatever its name', async () => {
    expect((await openCloud(new MemorySource(sample('laz/v14-pf07.laz'), 'x.copc.laz'))).format).toBe('LAZ');
    expect((await openCloud(new MemorySource(sample('copc/v14-pf07.copc.laz'), 'x.laz'))).format).toBe('COPC');
  });
  test('an info record too short to be one', async () => {
    const bytes = sample('copc/v14-pf06.copc.laz');
    const header = Header.parse(bytes, bytes.length);
    const { vlrs } = await readRecords(new MemorySource(bytes), header);
    expect(isCopc(header, vlrs)).toBe(true);
    expect(isCopc(header, [{ ...vlrs[0], payload: vlrs[0].payload.subarray(0, 71) }])).toBe(false);
  });
});

// Entry of 32 bytes: i32 level x y z, u64 offset, i32 bytes, i32 points (COPC 1.0).
describe('broken hierarchies', () => {
  const ENTRY = 32;
  async function broken(change: (view: DataView, root: number, rootSize: number) => void) {
    const bytes = sample('copc/v14-pf06.copc.laz');
    const { info } = await inside(bytes);
    change(viewOf(bytes), info.rootOffset, info.rootSize);
    return open(bytes);
  }
  const points = (view: DataView, root: number, size: number, wanted: (n: number) => boolean) => {
    for (let at = root; at < root + size; at += ENTRY) if (wanted(view.getInt32(at + 28, true))) return at;
    throw new Error('no such entry in the sample');
  };
  const spans = async (change: Parameters<typeof broken>[0]) => faultCode((await broken(change)).spans(1000));

  test('a page that is its own child', async () =>
    expect(
      await spans((v, root, size) => {
        const at = points(v, root, size, (n) => n === -1);
        v.setBigUint64(at + 16, BigInt(root), true);
        v.setInt32(at + 24, size, true);
      }),
    ).toBe('copc-hierarchy'));
  test('a page outside the file', async () =>
    expect(
      await spans((v, root, size) => v.setBigUint64(points(v, root, size, (n) => n === -1) + 16, 2n ** 60n, true)),
    ).toBe('file-truncated'));
  test('a page of no bytes, of negative bytes', async () => {
    for (const n of [0, -32])
      expect(await spans((v, root, size) => v.setInt32(points(v, root, size, (p) => p === -1) + 24, n, true))).toBe(
        'copc-hierarchy',
      );
  });
  test('a node outside the file', async () =>
    expect(
      await spans((v, root, size) => v.setBigUint64(points(v, root, size, (n) => n > 0) + 16, 2n ** 53n, true)),
    ).toBe('file-truncated'));
  test('fewer than -1 points', async () =>
    expect(await spans((v, root, size) => v.setInt32(points(v, root, size, (n) => n > 0) + 28, -2, true))).toBe(
      'copc-hierarchy',
    ));
  test('a node too small for one point', async () =>
    expect(await spans((v, root, size) => v.setInt32(points(v, root, size, (n) => n > 0) + 24, 20, true))).toBe(
      'copc-hierarchy',
    ));

  const odd = async (change: Parameters<typeof broken>[0]) => {
    const cloud = await broken(change);
    const before = cloud.formatIssues.length;
    await cloud.spans(1000);
    await cloud.spans(500);
    return cloud.formatIssues.slice(before).map((o) => o.rule);
  };
  test('sound: nothing new, also when asked twice', async () => expect(await odd(() => {})).toEqual([]));
  test('another number of points than the header: noted once', async () =>
    expect(
      await odd((v, root, size) => {
        const at = points(v, root, size, (n) => n > 0);
        v.setInt32(at + 28, v.getInt32(at + 28, true) - 1, true);
      }),
    ).toEqual(['copc-count', 'copc-chunk-table']));
  test('a key outside the octree', async () =>
    expect(await odd((v, root, size) => v.setInt32(points(v, root, size, (n) => n > 0) + 4, 5, true))).toContain(
      'copc-key',
    ));
  test('a root page outside its record is noted at opening', async () => {
    const bytes = sample('copc/v14-pf06.copc.laz');
    viewOf(bytes).setBigUint64(375 + 54 + 40, 10n, true);
    expect((await open(bytes)).formatIssues.map((o) => o.rule)).toContain('copc-root');
  });
  test('a cube that does not hold the points', async () => {
    const bytes = sample('copc/v14-pf06.copc.laz');
    viewOf(bytes).setFloat64(375 + 54 + 24, 5, true);
    expect((await open(bytes)).formatIssues.filter((o) => o.rule === 'copc-cube')).toHaveLength(3);
  });
  test('reserved bytes', async () => {
    const bytes = sample('copc/v14-pf06.copc.laz');
    bytes[375 + 54 + 100] = 1;
    expect((await open(bytes)).formatIssues.map((o) => o.rule)).toContain('copc-info-reserved');
  });
});

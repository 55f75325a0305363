import { readdirSync, readFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import type { Cloud } from '../../src/cloud/cloud.js';
import { type Column, Flag, type PointBatch } from '../../src/cloud/columns.js';
import { decodeExtraByte, findExtraByte } from '../../src/cloud/extra-bytes.js';
import { openCloud } from '../../src/cloud/open.js';
import { collect, EVERY, KEYS, sameBytes } from './collect.js';

// Expected values: test-clouds/formats/truth.json, written by the maker of the scene, not by the reader. The LAZ and COPC
// files were packed from the same points by an independent codec.

const folder = 'test-clouds/formats';
interface Truth {
  version: string;
  pointFormat: number;
  recordLength: number;
  scale: number;
  offset: number[];
  min: number[];
  max: number[];
  extraBytes: string[];
  points: number;
  sum: number[];
  sumIntensity: number;
  byClass: Record<string, number>;
  byPass: Record<string, number>;
  byReturn: number[];
  withheld: number;
  keyPoint: number;
  overlap: number;
  sumRgb: number[];
  gpsMin?: number;
  gpsMax?: number;
}
const truth: Record<string, Truth> = JSON.parse(readFileSync(`${folder}/truth.json`, 'utf8'));
const files = ['las', 'laz', 'copc'].flatMap((kind) => readdirSync(`${folder}/${kind}`).map((f) => `${kind}/${f}`));
const nameOf = (file: string) => file.split('/')[1].split('.')[0];

const opened: Cloud[] = [];
async function open(file: string): Promise<Cloud> {
  const cloud = await openCloud(`${folder}/${file}`);
  opened.push(cloud);
  return cloud;
}
afterAll(async () => {
  await Promise.all(opened.map((c) => c.close()));
});

function sum(values: ArrayLike<number>, count: number): number {
  let total = 0;
  for (let i = 0; i < count; i++) total += values[i];
  return total;
}

function tally(values: ArrayLike<number>, count: number): Record<string, number> {
  const result: Record<string, number> = {};
  for (let i = 0; i < count; i++) result[values[i]] = (result[values[i]] ?? 0) + 1;
  return result;
}

const bits = (batch: PointBatch, bit: number) => batch.flags.subarray(0, batch.count).filter((f) => f & bit).length;

test('the sample folder is complete: 28 LAS, 28 LAZ, 3 COPC', () => {
  expect(files.map((f) => f.split('/')[0]).sort()).toEqual([
    ...Array(3).fill('copc'),
    ...Array(28).fill('las'),
    ...Array(28).fill('laz'),
  ]);
  expect(Object.keys(truth)).toHaveLength(28);
});

describe.each(files)('%s holds what truth.json says', (file) => {
  const t = truth[nameOf(file)];

  test('header', async () => {
    const { header, format } = await open(file);
    expect(format).toBe({ las: 'LAS', laz: 'LAZ', copc: 'COPC' }[file.split('/')[0]]);
    expect(`${header.versionMajor}.${header.versionMinor}`).toBe(t.version);
    expect(header.pointFormat).toBe(t.pointFormat);
    expect(header.recordLength).toBe(t.recordLength);
    expect(header.pointCount).toBe(t.points);
    expect(header.scale).toEqual([t.scale, t.scale, t.scale]);
    expect(header.offset).toEqual(t.offset);
    expect(header.min).toEqual(t.min);
    expect(header.max).toEqual(t.max);
    expect(header.pointsByReturn.slice(0, t.byReturn.length)).toEqual(t.byReturn);
  });

  test('points, every column, in spans of 1,300', async () => {
    const cloud = await open(file);
    const p = await collect(cloud, EVERY, 1300);
    const n = t.points;
    expect(p.count).toBe(n);
    expect([sum(p.x, n), sum(p.y, n), sum(p.z, n)]).toEqual(t.sum);
    expect(sum(p.intensity, n)).toBe(t.sumIntensity);
    expect(tally(p.classification, n)).toEqual(t.byClass);
    expect(tally(p.pointSourceId, n)).toEqual(t.byPass);
    const returns = tally(p.returnNumber, n);
    expect(t.byReturn.map((_, i) => returns[i + 1] ?? 0)).toEqual(t.byReturn);
    expect(bits(p, Flag.withheld)).toBe(t.withheld);
    expect(bits(p, Flag.keyPoint)).toBe(t.keyPoint);
    expect(bits(p, Flag.overlap)).toBe(t.overlap);
    expect([sum(p.red, n), sum(p.green, n), sum(p.blue, n)]).toEqual(t.sumRgb);
    expect(p.has.has('gpsTime')).toBe(t.gpsMin !== undefined);
    if (t.gpsMin !== undefined) {
      const times = p.gpsTime.subarray(0, n);
      expect([Math.min(...times), Math.max(...times)]).toEqual([t.gpsMin, t.gpsMax]);
    }
    const { scale, offset } = cloud.header;
    const extent = (raw: Int32Array, axis: number, pick: (...v: number[]) => number) => {
      return pick(...raw.subarray(0, n)) * scale[axis] + offset[axis];
    };
    for (const [axis, raw] of [p.x, p.y, p.z].entries()) {
      expect(extent(raw, axis, Math.min)).toBeCloseTo(t.min[axis], 6);
      expect(extent(raw, axis, Math.max)).toBeCloseTo(t.max[axis], 6);
    }
  });

  test('extra bytes', async () => {
    const { extraBytes } = await open(file);
    const names: Record<string, string> = { u16: 'uint16', f64: 'double' };
    const words = extraBytes.map((e) => `${e.name} ${names[e.type]}${e.scale[0] === 1 ? '' : ` scale ${e.scale[0]}`}`);
    expect(words).toEqual(t.extraBytes);
  });

  test('coordinate system', async () => {
    const { crs } = await open(file);
    // README of the sample folder and the records themselves: EPSG:25832 with heights EPSG:7837, metres.
    expect(crs).toMatchObject({
      state: 'known',
      horizontal: { epsg: 25832, unit: { metres: 1 }, geographic: false },
      vertical: { epsg: 7837, unit: { metres: 1 } },
      problems: [],
    });
  });
});

describe('the same points whatever the packing', () => {
  test.each(files.filter((f) => f.startsWith('laz/')))('%s equals its LAS twin, point by point', async (file) => {
    const laz = await collect(await open(file));
    const las = await collect(await open(file.replace(/laz/g, 'las')));
    expect([...laz.has]).toEqual([...las.has]);
    for (const key of KEYS) expect(sameBytes(laz[key], las[key]), key).toBe(true);
  });

  test.each(files.filter((f) => f.startsWith('copc/')))('%s holds its LAS twin in another order', async (file) => {
    const copc = await collect(await open(file));
    const las = await collect(await open(`las/${nameOf(file)}.las`));
    const lines = (p: PointBatch) =>
      Array.from({ length: p.count }, (_, i) => KEYS.map((k) => (p[k].length >= p.count ? p[k][i] : '')).join()).sort();
    expect(lines(copc).join('\n') === lines(las).join('\n')).toBe(true);
  });
});

describe('only what is asked for', () => {
  const subsets: Column[][] = [
    ['xyz'],
    ['classification'],
    ['xyz', 'gpsTime'],
    ['xyz', 'returns', 'flags', 'classification', 'pointSourceId', 'gpsTime'],
    ['intensity', 'scanAngle', 'userData'],
    ['colour'],
    ['scannerChannel', 'returns'],
    ['extra', 'xyz'],
    [],
  ];
  const columnKeys: Record<Column, readonly (typeof KEYS)[number][]> = {
    xyz: ['x', 'y', 'z'],
    intensity: ['intensity'],
    returns: ['returnNumber', 'returnCount'],
    flags: ['flags'],
    classification: ['classification'],
    scannerChannel: ['scannerChannel'],
    scanAngle: ['scanAngle'],
    userData: ['userData'],
    pointSourceId: ['pointSourceId'],
    gpsTime: ['gpsTime'],
    colour: ['red', 'green', 'blue'],
    nir: ['nir'],
    waveform: ['waveform'],
    extra: ['extra'],
  };
  const sample = [
    'las/v14-pf07-extrabytes.las',
    'laz/v14-pf07-extrabytes.laz',
    'laz/v12-pf03.laz',
    'copc/v14-pf08.copc.laz',
    'las/v13-pf05.las',
  ];
  test.each(sample.flatMap((f) => subsets.map((s) => [f, s] as const)))(
    '%s, %j: same values as when all are asked for, zeros elsewhere',
    async (file, subset) => {
      const cloud = await open(file);
      const all = await collect(cloud);
      const some = await collect(cloud, new Set(subset));
      for (const column of subset) expect(some.has.has(column)).toBe(all.has.has(column));
      for (const [column, keys] of Object.entries(columnKeys)) {
        for (const key of keys) {
          if (subset.includes(column as Column)) expect(sameBytes(some[key], all[key]), key).toBe(true);
          else
            expect(
              (some[key] as Uint8Array).every((v) => v === 0),
              key,
            ).toBe(true);
        }
      }
    },
  );
});

test.each(files.filter((f) => f.includes('extrabytes')))('%s: extra bytes as numbers', async (file) => {
  const cloud = await open(file);
  const p = await collect(cloud);
  const range = decodeExtraByte(findExtraByte(cloud.extraBytes, 'Range')!, p, new Float64Array(p.count));
  const deviation = decodeExtraByte(findExtraByte(cloud.extraBytes, 'Deviation')!, p, new Float64Array(p.count));
  // Independent reading of the record: 16-bit number and double behind the format's own bytes, little-endian.
  const view = new DataView(p.extra.buffer, p.extra.byteOffset, p.extra.byteLength);
  for (let i = 0; i < p.count; i++) {
    if (range[i] !== view.getUint16(10 * i, true) * 0.001) throw new Error(`range of point ${i}`);
    if (deviation[i] !== view.getFloat64(10 * i + 2, true)) throw new Error(`deviation of point ${i}`);
  }
  expect(new Set(range).size).toBeGreaterThan(1);
  expect(findExtraByte(cloud.extraBytes, 'range')).toBeNull();
});

test.each(files)('%s: spans tile the points without gap, at about the size asked for', async (file) => {
  const cloud = await open(file);
  for (const target of [100, 999, 1000, 2500, 4500, 1e9]) {
    const spans = await cloud.spans(target);
    let first = 0;
    let end = 0;
    for (const span of spans) {
      if (span.first !== first) throw new Error(`span starts at ${span.first}, expected ${first}`);
      expect(span.pieces.reduce((n, p) => n + p.points, 0)).toBe(span.points);
      first += span.points;
      for (const piece of span.pieces) {
        expect(piece.begin).toBeGreaterThanOrEqual(end);
        end = piece.end;
      }
    }
    expect(first).toBe(truth[nameOf(file)].points);
    expect(spans.length).toBeLessThanOrEqual(Math.ceil(4500 / Math.min(target, 4500)) + 2);
  }
});

test('spans of one cloud decoded side by side give what they give one by one', async () => {
  const cloud = await open('laz/v14-pf06.laz');
  const spans = await cloud.spans(1000);
  const read = async (span: (typeof spans)[number]) => {
    let total = 0;
    await cloud.decode(span, EVERY, (b) => {
      for (let i = 0; i < b.count; i++) total += b.x[i] * (b.first + i + 1);
    });
    return total;
  };
  const one: number[] = [];
  for (const span of spans) one.push(await read(span));
  expect(await Promise.all(spans.map(read))).toEqual(one);
});

import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Las } from 'copc';
import { afterAll, describe, expect, it } from 'vitest';
import { Random } from '../../src/simulate/scene/random.js';
import type { LasOptions } from '../../src/simulate/writer/las-header.js';
import { LasFileWriter, writeLas } from '../../src/simulate/writer/las-writer.js';
import type { PointColumns } from '../../src/simulate/writer/point-columns.js';
import {
  DVR90,
  NAVD88_FOOT,
  NAVD88_FOOT_US,
  STATE_PLANE_FOOT,
  STATE_PLANE_FOOT_US,
  UTM32,
  wktText,
} from '../../src/simulate/writer/reference-systems.js';
import { decodeLas, decodePoint, SPEC_RECORD_LENGTHS, text } from './las-decoder.js';

const folder = mkdtempSync(join(tmpdir(), 'las-writer-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** Points at random with every column filled; coordinates are whole millimetres. */
function randomPoints(count: number, seed: number, legacy: boolean): Required<PointColumns> {
  const random = new Random(seed);
  const u16 = () => Uint16Array.from({ length: count }, () => random.below(65_536));
  const returnCount = Uint8Array.from({ length: count }, () => 1 + random.below(legacy ? 5 : 15));
  return {
    count,
    x: Float64Array.from({ length: count }, () => (561_000_000 + random.below(50_000)) / 1000),
    y: Float64Array.from({ length: count }, () => (5_932_000_000 + random.below(50_000)) / 1000),
    z: Float64Array.from({ length: count }, () => random.below(20_000) / 1000 - 3),
    intensity: u16(),
    returnNumber: returnCount.map((n) => 1 + random.below(n)),
    returnCount,
    flags: Uint8Array.from({ length: count }, () => random.below(64) & (legacy ? 0x37 : 0x3f)),
    classification: Uint8Array.from({ length: count }, () => random.below(legacy ? 32 : 256)),
    scannerChannel: Uint8Array.from({ length: count }, () => random.below(4)),
    scanAngle: Int16Array.from({ length: count }, () => random.below(60_001) - 30_000),
    userData: Uint8Array.from({ length: count }, () => random.below(256)),
    pointSourceId: u16(),
    gpsTime: Float64Array.from({ length: count }, (_, i) => 419_724_800 + i / 1000),
    red: u16(),
    green: u16(),
    blue: u16(),
    nir: u16(),
    waveform: Uint8Array.from({ length: count * 29 }, () => random.below(256)),
    extra: Uint8Array.from({ length: count * 10 }, () => random.below(256)),
  };
}

const base = { scale: [0.001, 0.001, 0.001], offset: [561_000, 5_932_000, 0] } as const;

/** Versions and the formats they allow: LAS 1.4 R15 table of formats; 1.0 to 1.3 from memory of their texts; 1.5 R00. */
const ALLOWED: [0 | 1 | 2 | 3 | 4 | 5, number[]][] = [
  [0, [0, 1]],
  [1, [0, 1]],
  [2, [0, 1, 2, 3]],
  [3, [0, 1, 2, 3, 4, 5]],
  [4, [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]],
  [5, [6, 7, 8, 9, 10]],
];
const cases = ALLOWED.flatMap(([minor, formats]) => formats.map((format) => [minor, format] as const));

function optionsOf(minor: 0 | 1 | 2 | 3 | 4 | 5, format: number): LasOptions {
  const as = format >= 6 ? 'wkt' : 'geotiff';
  return { ...base, version: [1, minor], format, crs: { as, horizontal: UTM32, vertical: DVR90 } };
}

describe('LAS images, decoded by the byte tables of the LAS 1.4 R15 specification', () => {
  it.each(cases)('1.%i format %i holds what was written', (minor, format) => {
    const points = randomPoints(150, 10 * minor + format, format < 6);
    const bytes = writeLas({ ...optionsOf(minor, format), points });
    const las = decodeLas(bytes);
    expect(text(bytes, 0, 4)).toBe('LASF');
    expect([bytes[24], las.minor, las.format]).toEqual([1, minor, format]);
    // Header sizes: 1.4 375, 1.5 393 (texts of 1.4 R15 and 1.5 R00); 227 and 235 from memory of the older ones.
    expect(las.headerSize).toBe([227, 227, 227, 235, 375, 393][minor]);
    expect(las.recordLength).toBe(SPEC_RECORD_LENGTHS[format]);
    expect(las.offsetToPoints).toBe(las.vlrEnd + (minor === 0 ? 2 : 0));
    expect(bytes.length).toBe(las.offsetToPoints + 150 * las.recordLength);
    expect(las.count).toBe(150);
    const returns = Array.from({ length: 15 }, (_, k) => points.returnNumber.filter((n) => n === k + 1).length);
    expect(las.byReturn).toEqual(minor >= 4 ? returns : returns.slice(0, 5));
    expect(text(bytes, 58, 32)).toBe('cloudassay test clouds');
    const last = decodePoint(las, 149);
    for (let i = 0; i < 150; i++) {
      const p = decodePoint(las, i);
      expect(p.raw).toEqual([
        Math.round((points.x[i] - 561_000) * 1000),
        Math.round((points.y[i] - 5_932_000) * 1000),
        Math.round(points.z[i] * 1000),
      ]);
      expect(p.intensity).toBe(points.intensity[i]);
      expect([p.returnNumber, p.returnCount]).toEqual([points.returnNumber[i], points.returnCount[i]]);
      expect(p.flags | (p.scanDirection << 4) | (p.edge << 5)).toBe(points.flags[i]);
      expect(p.classification).toBe(points.classification[i]);
      expect(p.userData).toBe(points.userData[i]);
      expect(p.pointSourceId).toBe(points.pointSourceId[i]);
      if (format >= 6) expect([p.channel, p.scanAngle]).toEqual([points.scannerChannel[i], points.scanAngle[i]]);
      else expect(Math.abs(p.scanAngle)).toBeLessThanOrEqual(90);
      if (p.gpsTime !== null) expect(p.gpsTime).toBe(points.gpsTime[i]);
      if (p.colour) expect(p.colour).toEqual([points.red[i], points.green[i], points.blue[i]]);
      if (p.nir !== null) expect(p.nir).toBe(points.nir[i]);
    }
    const waveAt = [0, 0, 0, 0, 28, 34, 0, 0, 0, 30, 38][format];
    if (waveAt > 0) {
      const at = las.offsetToPoints + 149 * las.recordLength + waveAt;
      expect(bytes.slice(at, at + 29)).toEqual(points.waveform.slice(149 * 29));
      // Formats with wave packets need a descriptor of 26 bytes, records 100 to 354 (LAS 1.4 R15, section 4).
      expect(las.vlrs.find((vlr) => vlr.recordId === 100)?.data.length).toBe(26);
    }
    expect(last.gpsTime === null).toBe(format === 0 || format === 2);
  });

  it.each([
    [2, 3],
    [4, 6],
    [4, 7],
    [4, 8],
  ] as const)('1.%i format %i is read alike by the copc library', (minor, format) => {
    const points = randomPoints(200, 7, format < 6);
    const bytes = writeLas({ ...optionsOf(minor, format), points });
    const header = Las.Header.parse(bytes);
    expect(header.pointCount).toBe(200);
    expect(header.scale).toEqual([0.001, 0.001, 0.001]);
    expect(header.min[0]).toBeCloseTo(Math.min(...points.x), 9);
    expect(header.max[2]).toBeCloseTo(Math.max(...points.z), 9);
    const view = Las.View.create(bytes.subarray(header.pointDataOffset), header);
    const get = (name: string) => view.getter(name);
    for (let i = 0; i < 200; i++) {
      expect(get('X')(i)).toBeCloseTo(points.x[i], 6);
      expect(get('Y')(i)).toBeCloseTo(points.y[i], 6);
      expect(get('Z')(i)).toBeCloseTo(points.z[i], 6);
      expect(get('Intensity')(i)).toBe(points.intensity[i]);
      expect(get('ReturnNumber')(i)).toBe(points.returnNumber[i]);
      expect(get('NumberOfReturns')(i)).toBe(points.returnCount[i]);
      expect(get('PointSourceId')(i)).toBe(points.pointSourceId[i]);
      expect(get('GpsTime')(i)).toBe(points.gpsTime[i]);
      if (format !== 6) expect(get('Green')(i)).toBe(points.green[i]);
    }
  });
});

describe('headers', () => {
  const points = randomPoints(300, 3, false);
  const legacyPoints = randomPoints(300, 3, true);

  it('states the bounds of the points as quantised (LAS 1.4 R16: from the true coordinates)', () => {
    const off = { ...points, x: points.x.map((x) => x + 0.0004) };
    const las = decodeLas(writeLas({ ...optionsOf(4, 6), points: off }));
    const decoded = Array.from({ length: 300 }, (_, i) => decodePoint(las, i));
    expect(las.min).toEqual([
      Math.min(...decoded.map((p) => p.x)),
      Math.min(...decoded.map((p) => p.y)),
      Math.min(...decoded.map((p) => p.z)),
    ]);
    expect(las.max).toEqual([
      Math.max(...decoded.map((p) => p.x)),
      Math.max(...decoded.map((p) => p.y)),
      Math.max(...decoded.map((p) => p.z)),
    ]);
  });

  it('leaves legacy counts zero for formats 6 to 10 and fills them for formats 0 to 5', () => {
    expect(decodeLas(writeLas({ ...optionsOf(4, 6), points })).legacyCount).toBe(0);
    const las = decodeLas(writeLas({ ...optionsOf(4, 1), points: legacyPoints }));
    expect(las.legacyCount).toBe(300);
    expect(las.legacyByReturn).toEqual(las.byReturn.slice(0, 5));
  });

  it('sets the WKT bit for formats 6 to 10, the GPS bit for standard time and nothing else', () => {
    expect(decodeLas(writeLas({ ...optionsOf(4, 6), points })).globalEncoding).toBe(17);
    expect(decodeLas(writeLas({ ...optionsOf(4, 6), points, gpsTime: 'week' })).globalEncoding).toBe(16);
    expect(decodeLas(writeLas({ ...optionsOf(2, 1), points: legacyPoints })).globalEncoding).toBe(1);
    expect(decodeLas(writeLas({ ...optionsOf(2, 0), points: legacyPoints })).globalEncoding).toBe(0);
    expect(decodeLas(writeLas({ ...optionsOf(0, 1), points: legacyPoints })).globalEncoding).toBe(0);
  });

  it('gives LAS 1.5 the range of GPS times', () => {
    const las = decodeLas(writeLas({ ...optionsOf(5, 6), points }));
    expect(las.view.getFloat64(375, true)).toBe(points.gpsTime[299]);
    expect(las.view.getFloat64(383, true)).toBe(points.gpsTime[0]);
  });

  it('has zero bounds and counts without points', () => {
    const none = randomPoints(0, 1, false);
    const las = decodeLas(writeLas({ ...optionsOf(4, 6), points: none }));
    expect([las.count, ...las.min, ...las.max]).toEqual([0, 0, 0, 0, 0, 0, 0]);
  });

  it('lies when told to', () => {
    const las = decodeLas(writeLas({ ...optionsOf(4, 6), points, headerOverrides: { count: 999, max: [1, 2, 3] } }));
    expect(las.count).toBe(999);
    expect(las.max).toEqual([1, 2, 3]);
    expect(las.byReturn.reduce((a, b) => a + b, 0)).toBe(300);
  });

  it.each([
    ['LAS 1.2 has no point format 4', { ...optionsOf(2, 4) }],
    ['LAS 1.5 has formats 6 to 10 only', { ...optionsOf(5, 3) }],
    ['formats 6 to 10 ask for WKT', { ...optionsOf(4, 6), crs: { as: 'geotiff', horizontal: UTM32, vertical: null } }],
    ['LAS 1.3 has no WKT records', { ...optionsOf(3, 1), crs: { as: 'wkt', horizontal: UTM32, vertical: null } }],
  ] as [string, LasOptions][])('refuses what no standard allows: %s', (message, options) => {
    expect(() => writeLas({ ...options, points })).toThrow(message);
    expect(writeLas({ ...options, points, unsound: true }).length).toBeGreaterThan(0);
  });

  it('refuses coordinates that overflow 32 bits', () => {
    const far = { ...points, x: points.x.map((x) => x + 3e6) };
    expect(() => writeLas({ ...optionsOf(4, 6), points: far })).toThrow(RangeError);
  });
});

describe('records', () => {
  const points = randomPoints(50, 5, false);

  it('writes the coordinate system as one null-terminated WKT record', () => {
    const las = decodeLas(writeLas({ ...optionsOf(4, 6), points }));
    expect(las.vlrs.map((vlr) => [vlr.userId, vlr.recordId, vlr.reserved])).toEqual([['LASF_Projection', 2112, 0]]);
    const { data } = las.vlrs[0];
    expect(data[data.length - 1]).toBe(0);
    expect(new TextDecoder().decode(data.subarray(0, -1))).toBe(wktText(UTM32, DVR90));
  });

  it('writes GeoTIFF keys in ascending order with projected, vertical and unit codes (GeoTIFF 1.0, section 2.4)', () => {
    const las = decodeLas(writeLas({ ...optionsOf(2, 1), points: randomPoints(50, 5, true) }));
    const [directory, ascii] = las.vlrs;
    expect([directory.recordId, ascii.recordId]).toEqual([34735, 34737]);
    const words = new Uint16Array(directory.data.slice().buffer);
    expect(Array.from(words.slice(0, 4))).toEqual([1, 1, 0, (words.length - 4) / 4]);
    const keys = new Map<number, number[]>();
    for (let k = 4; k < words.length; k += 4) keys.set(words[k], Array.from(words.slice(k + 1, k + 4)));
    expect([...keys.keys()]).toEqual([...keys.keys()].sort((a, b) => a - b));
    expect(keys.get(3072)).toEqual([0, 1, 25832]);
    expect(keys.get(3076)).toEqual([0, 1, 9001]);
    expect(keys.get(4096)).toEqual([0, 1, 5799]);
    const [location, length, index] = keys.get(1026) as number[];
    expect(location).toBe(34737);
    expect(index + length).toBeLessThanOrEqual(ascii.data.length);
  });

  it('marks LAS 1.0 records and points the old way', () => {
    const bytes = writeLas({ ...optionsOf(0, 1), points: randomPoints(50, 5, true) });
    const las = decodeLas(bytes);
    expect(las.vlrs.every((vlr) => vlr.reserved === 0xaabb)).toBe(true);
    expect(las.view.getUint16(las.offsetToPoints - 2, true)).toBe(0xccdd);
  });

  it('describes extra bytes in 192 bytes each and stores them behind the point', () => {
    const fields = [
      { name: 'Range', type: 3 },
      { name: 'Deviation', type: 10, description: 'of the echo' },
    ] as const;
    const bytes = writeLas({ ...optionsOf(4, 6), points, extraBytes: fields });
    const las = decodeLas(bytes);
    expect(las.recordLength).toBe(40);
    const record = las.vlrs.find((vlr) => vlr.userId === 'LASF_Spec' && vlr.recordId === 4);
    expect(record?.data.length).toBe(384);
    const described = Las.ExtraBytes.parse(record?.data as Uint8Array);
    expect(described.map((field) => [field.name, field.length])).toEqual([
      ['Range', 2],
      ['Deviation', 8],
    ]);
    const at = las.offsetToPoints + 49 * 40 + 30;
    expect(bytes.slice(at, at + 10)).toEqual(points.extra.slice(490));
  });

  it('puts extended records behind the points', () => {
    const evlrs = [{ userId: 'LASF_Spec', recordId: 3, description: 'text', data: new Uint8Array([65, 0]) }];
    const bytes = writeLas({ ...optionsOf(4, 6), points, evlrs });
    const las = decodeLas(bytes);
    const at = Number(las.view.getBigUint64(235, true));
    expect(at).toBe(las.offsetToPoints + 50 * 30);
    expect(las.view.getUint32(243, true)).toBe(1);
    expect(text(bytes, at + 2, 16)).toBe('LASF_Spec');
    expect(Number(las.view.getBigUint64(at + 20, true))).toBe(2);
    expect(bytes.length).toBe(at + 60 + 2);
  });

  // Definitions of the feet: 0.3048 m (1959 agreement); 1200/3937 m (US Coast and Geodetic Survey, 1893).
  it.each([
    ['foot', STATE_PLANE_FOOT, NAVD88_FOOT, 0.3048, 9002],
    ['US survey foot', STATE_PLANE_FOOT_US, NAVD88_FOOT_US, 1200 / 3937, 9003],
  ] as const)('has systems in the %s', (name, horizontal, vertical, metres, epsgUnit) => {
    const wkt = wktText(horizontal, vertical);
    expect(horizontal.metresPerUnit).toBe(metres);
    const units = [...wkt.matchAll(/UNIT\["([^"]+)",([0-9.]+),AUTHORITY\["EPSG","(\d+)"\]\]/g)].map((m) => m.slice(1));
    const linear = units.filter(([unit]) => unit !== 'degree');
    expect(linear.length).toBe(2);
    for (const [unit, factor, code] of linear) {
      expect(unit).toBe(name);
      expect(Number(factor)).toBeCloseTo(metres, 14);
      expect(Number(code)).toBe(epsgUnit);
    }
    const depth = [...wkt].reduce((open, c) => open + (c === '[' ? 1 : c === ']' ? -1 : 0), 0);
    expect(depth).toBe(0);
  });
});

describe('streaming', () => {
  it('gives the same bytes as writing at once, however the points are cut', () => {
    const points = randomPoints(70_000, 9, false);
    const options = { ...optionsOf(4, 7), evlrs: [{ userId: 'test', recordId: 1, data: new Uint8Array([1, 2, 3]) }] };
    const whole = writeLas({ ...options, points });
    const path = join(folder, 'stream.las');
    const writer = new LasFileWriter(path, options);
    const random = new Random(4);
    for (let from = 0; from < points.count; ) {
      const to = Math.min(points.count, from + 1 + random.below(30_000));
      const part: PointColumns = {
        count: to - from,
        x: points.x.slice(from, to),
        y: points.y.slice(from, to),
        z: points.z.slice(from, to),
      };
      const keys = [
        'intensity',
        'returnNumber',
        'returnCount',
        'flags',
        'classification',
        'scannerChannel',
        'scanAngle',
        'userData',
        'pointSourceId',
        'gpsTime',
        'red',
        'green',
        'blue',
      ] as const;
      for (const key of keys) Object.assign(part, { [key]: points[key].slice(from, to) });
      writer.add(part);
      from = to;
    }
    writer.close();
    expect(writer.count).toBe(70_000);
    expect(Buffer.compare(readFileSync(path), Buffer.from(whole))).toBe(0);
  });
});

import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Las } from 'copc';
import { parse } from 'csv-parse/sync';
import { sampleStandardDeviation } from 'simple-statistics';
import { afterAll, describe, expect, it } from 'vitest';
import type { DemoDelivery } from '../../src/simulate/demo/demo-delivery.js';
import { writeDelivery, writeDemoDelivery, writeSoundDelivery } from '../../src/simulate/demo/demo-delivery.js';
import { insideRing } from '../../src/simulate/scene/areas.js';
import { recessOf, surfaceHeight, toLocal } from '../../src/simulate/scene/street.js';
import type { DecodedPoint } from './las-decoder.js';
import { decodeLas, decodePoint } from './las-decoder.js';

const folder = mkdtempSync(join(tmpdir(), 'demo-delivery-'));
afterAll(() => rmSync(folder, { recursive: true }));

const demo = writeDemoDelivery(join(folder, 'demo'), { laz: false });
const sound = writeSoundDelivery(join(folder, 'sound'), { laz: false });
const quiet = writeDelivery(
  join(folder, 'quiet'),
  { passShift: [0.03, -0.02, 0.025] },
  { noise: 0, surveySigma: 0, laz: false },
);

function read(delivery: DemoDelivery, name: string) {
  return decodeLas(readFileSync(join(delivery.tiles, name)));
}

const decoded = new Map<DemoDelivery, DecodedPoint[]>();

function allPoints(delivery: DemoDelivery): DecodedPoint[] {
  let points = decoded.get(delivery);
  if (!points) {
    points = delivery.files.flatMap(({ name }) => {
      const las = read(delivery, name);
      return Array.from({ length: las.count }, (_, i) => decodePoint(las, i));
    });
    decoded.set(delivery, points);
  }
  return points;
}

function pointsOf(delivery: DemoDelivery, keep: (p: DecodedPoint) => boolean): DecodedPoint[] {
  return allPoints(delivery).filter(keep);
}

const corner = (name: string) => (/quay_(\d+)_(\d+)\.la[sz]/.exec(name) as RegExpExecArray).slice(1).map(Number);
const onRoad = (delivery: DemoDelivery) => (p: DecodedPoint) => {
  const [u, v] = toLocal(delivery.planted.street, p.x, p.y);
  return p.classification === 11 && Math.abs(u) < 24 && Math.abs(v) < 3.9;
};

/** Mean height above the true surface of one pass on the carriageway, and the spread. */
function aboveTruth(delivery: DemoDelivery, pass: number) {
  const dz = pointsOf(delivery, (p) => p.pointSourceId === pass && onRoad(delivery)(p)).map(
    (p) => p.z - (surfaceHeight(delivery.planted.street, p.x, p.y) as number),
  );
  return { mean: dz.reduce((a, b) => a + b, 0) / dz.length, spread: sampleStandardDeviation(dz), n: dz.length };
}

describe('the demo delivery', () => {
  it('holds about 200,000 points in five tiles that contain nothing but their own', () => {
    expect(readdirSync(demo.tiles).sort()).toEqual(demo.files.map((file) => file.name).sort());
    expect(demo.files.length).toBe(5);
    expect(sound.files.length).toBe(4);
    expect(sound.planted.points).toBeGreaterThan(180_000);
    expect(sound.planted.points).toBeLessThan(220_000);
    let total = 0;
    for (const { name, points } of demo.files) {
      const las = read(demo, name);
      const [west, south] = corner(name);
      expect([west % 25, south % 25]).toEqual([0, 0]);
      expect(las.count).toBe(points);
      total += points;
      for (let i = 0; i < las.count; i += 5) {
        const p = decodePoint(las, i);
        if (p.x < west || p.y < south || p.x >= west + 25 || p.y >= south + 25) expect.fail(`${name} point ${i}`);
      }
    }
    expect(total).toBe(demo.planted.points);
  });

  it('is LAS 1.4 format 6, with sound headers but for the one planted', () => {
    for (const { name } of demo.files) {
      const las = read(demo, name);
      expect([las.minor, las.format, las.recordLength]).toEqual([4, 6, 30]);
      const east = Math.max(...Array.from({ length: las.count }, (_, i) => decodePoint(las, i).x));
      const excess = las.max[0] - east;
      expect(excess).toBeCloseTo(name === demo.planted.headerTile ? 3.5 : 0, 9);
      const wkt = new TextDecoder().decode(las.vlrs[0].data);
      expect(wkt.includes('"EPSG","25833"')).toBe(name === demo.planted.foreignTile);
      expect(wkt.includes('"EPSG","25832"')).toBe(name !== demo.planted.foreignTile);
      expect(wkt).toContain('"EPSG","5799"');
    }
  });

  it('has pass 2 displaced by exactly what is told, seen without noise on the carriageway', () => {
    const first = aboveTruth(quiet, 1);
    const second = aboveTruth(quiet, 2);
    expect(Math.abs(first.mean)).toBeLessThan(2e-5);
    expect(first.spread).toBeLessThan(0.0004);
    // The height read at a fixed place: rounding to 1 mm in all three axes is left.
    expect(Math.abs(second.mean - quiet.planted.passTwoDz)).toBeLessThan(2e-5);
    expect(quiet.planted.passTwoDz).toBeCloseTo(0.0243, 4);
  });

  it('has walls displaced as told too, and no other pass', () => {
    const { street } = quiet.planted;
    const fronts = (pass: number) =>
      pointsOf(quiet, (p) => p.classification === 6 && p.pointSourceId === pass)
        .map((p) => toLocal(street, p.x, p.y))
        // Not the sides of the recesses, which begin at the front as well.
        .filter(([u]) => {
          const recess = recessOf(street, true, Math.floor(u / street.bayLength));
          return u < recess.from - 0.1 || u > recess.to + 0.1;
        })
        .map(([, v]) => v - street.sideOffset);
    const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;
    const along = -0.02 * Math.cos((4 * Math.PI) / 180) - 0.03 * Math.sin((4 * Math.PI) / 180);
    expect(mean(fronts(2))).toBeCloseTo(along, 4);
    expect(mean(fronts(1))).toBeCloseTo(0, 4);
    expect(mean(fronts(3))).toBeCloseTo(0, 4);
  });

  it('has the bias and the noise told', () => {
    for (const pass of [1, 3]) {
      const { mean, spread, n } = aboveTruth(demo, pass);
      expect(Math.abs(mean - 0.018)).toBeLessThan((4 * 0.006) / Math.sqrt(n));
      expect(Math.abs(spread - 0.006)).toBeLessThan((4 * 0.006) / Math.sqrt(2 * n) + 0.00002);
      expect(Math.abs(aboveTruth(sound, pass).mean)).toBeLessThan((4 * 0.006) / Math.sqrt(n));
    }
    expect(Math.abs(demo.planted.meanDz - (0.018 + demo.planted.passTwoDz / 3))).toBeLessThan(1e-12);
  });

  it('has an empty hole of 7.5 m2, and the sound one has points there', () => {
    const [x0, y0, x1, y1] = demo.planted.faults.void as [number, number, number, number];
    const inside = (p: DecodedPoint) => p.x >= x0 && p.x < x1 && p.y >= y0 && p.y < y1;
    expect(pointsOf(demo, inside).length).toBe(0);
    expect(pointsOf(sound, inside).length).toBeGreaterThan(1000);
    expect(demo.planted.voidArea).toBe(7.5);
    const ring = JSON.parse(readFileSync(demo.zones, 'utf8')).features[0].geometry.coordinates[0].slice(0, 4);
    for (const x of [x0, x1]) for (const y of [y0, y1]) expect(insideRing(ring, x, y, 0.2)).toBe(true);
  });

  it('has exactly 90 points in every thinned cell, and the share of sparse cells told', () => {
    const ring = JSON.parse(readFileSync(demo.zones, 'utf8')).features[0].geometry.coordinates[0].slice(0, 4);
    const counts = new Map<string, number>();
    for (const p of allPoints(demo)) {
      // From whole millimetres: tile offsets are whole metres.
      const key = `${Math.floor(Math.round(p.x * 1000) / 1000)} ${Math.floor(Math.round(p.y * 1000) / 1000)}`;
      counts.set(key, (counts.get(key) ?? 0) + 1);
    }
    const { density } = demo.planted;
    let cells = 0;
    let below = 0;
    for (let x = 561_000; x < 561_050; x++) {
      for (let y = 5_932_175; y < 5_932_225; y++) {
        const corners = [0, 1].flatMap((a) => [0, 1].map((b) => insideRing(ring, x + a, y + b)));
        if (corners.includes(false)) continue;
        const count = counts.get(`${x} ${y}`) ?? 0;
        cells++;
        if (count < 150) below++;
        if (x >= 561_025 && y < 5_932_200) expect(count).toBe(90);
      }
    }
    expect([cells, below]).toEqual([density.cells, density.below]);
    expect(density.share).toBeLessThan(0.9);
    expect(sound.planted.density.below).toBe(0);
  });

  it('has a survey of 34 check and 6 control points with one blunder of 0.35 m', () => {
    const rows: Record<string, string>[] = parse(readFileSync(demo.points), { columns: true });
    expect(Object.keys(rows[0])).toEqual(['id', 'easting', 'northing', 'height', 'role', 'surface']);
    expect(rows.filter((row) => row.role === 'check').length).toBe(34);
    expect(rows.filter((row) => row.role === 'control').length).toBe(6);
    const errors = rows.map((row) => {
      const truth = surfaceHeight(demo.planted.street, Number(row.easting), Number(row.northing)) as number;
      return { id: row.id, error: Number(row.height) - truth };
    });
    const gross = errors.filter(({ error }) => Math.abs(error) > 0.01);
    expect(gross.map(({ id }) => id)).toEqual([demo.planted.blunderId]);
    expect(gross[0].error).toBeCloseTo(0.35, 1.7);
    const rest = errors.filter(({ error }) => Math.abs(error) <= 0.01).map(({ error }) => error);
    expect(Math.abs(sampleStandardDeviation(rest) - 0.002)).toBeLessThan((4 * 0.002) / Math.sqrt(2 * 39));
  });

  it('says in its README what was planted', () => {
    const readme = readFileSync(demo.readme, 'utf8');
    expect(readme.match(/^\d\. /gm)?.length).toBe(9);
    expect(readme).toContain('30 mm east, -20 mm north and 25 mm up');
    expect(readFileSync(sound.readme, 'utf8')).toContain('this delivery is sound');
  });

  it('is the same bytes each time', () => {
    const again = writeDemoDelivery(join(folder, 'again'), { laz: false });
    for (const { name, path } of demo.files) {
      expect(Buffer.compare(readFileSync(path), readFileSync(join(again.tiles, name)))).toBe(0);
    }
    for (const side of ['points', 'zones', 'spec', 'readme'] as const) {
      expect(readFileSync(again[side], 'utf8')).toBe(readFileSync(demo[side], 'utf8'));
    }
  });

  it('delivers one tile as LAZ with the same points, as the laz-perf library unpacks it', async () => {
    const packed = writeDemoDelivery(join(folder, 'packed'));
    expect(packed.planted.lazTile).toBe('quay_561000_5932200.laz');
    const laz = readFileSync(join(packed.tiles, 'quay_561000_5932200.laz'));
    const plain = readFileSync(join(demo.tiles, 'quay_561000_5932200.las'));
    const points = await Las.PointData.decompressFile(laz);
    expect(laz.length).toBeLessThan(plain.length / 2);
    expect(Buffer.compare(Buffer.from(points), plain.subarray(decodeLas(plain).offsetToPoints))).toBe(0);
  });

  it('leaves no tile of an earlier delivery behind', () => {
    const place = join(folder, 'reused');
    writeDemoDelivery(place);
    const second = writeSoundDelivery(place, { laz: false });
    expect(readdirSync(second.tiles).sort()).toEqual(second.files.map(({ name }) => name).sort());
  });
});

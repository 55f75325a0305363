import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { check } from '../../src/cli/run-check.js';
import { writeManifest } from '../../src/cli/write-manifest.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { cellOf, cutVoid } from '../../src/simulate/scene/areas.js';
import { joinPoints, type SceneColumns, selectPoints } from '../../src/simulate/writer/point-columns.js';
import { assayFiles, assayOne, lasOf, soundStreet, zonesOf } from '../checks/check-files.js';

const street = soundStreet();
/** Carriageway between the ends of the street, in whole metres; every 1 m cell of it holds points of both passes. */
const ROAD = ['road', 561_002, 5_932_197, 561_018, 5_932_203] as const;
const zones = zonesOf(ROAD);

const folder = mkdtempSync(join(tmpdir(), 'cloudassay-completeness-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Copies of the first points, moved to these places. */
function strays(places: readonly (readonly [number, number, number, number])[]): SceneColumns {
  const points = selectPoints(street, (i) => i < places.length);
  places.forEach(([x, y, z, kind], k) => {
    points.x[k] = x;
    points.y[k] = y;
    points.z[k] = z;
    points.classification[k] = kind;
  });
  return points;
}

describe('coverage from file to report', () => {
  it('is whole on a sound street, and lacks exactly the cells cut out', async () => {
    const requirement = { check: 'coverage', cell: 1, zone: 'road' };
    const sound = await assayOne({ 'a.las': lasOf(street) }, requirement, { zones });
    expect(sound.measured).toEqual({ cells: 16 * 6, share: 1, missingArea: 0 });
    const holed = cutVoid(
      cutVoid(street, [561_005, 5_932_198, 561_008, 5_932_200]),
      [561_012, 5_932_200, 561_013, 5_932_201],
    );
    const report = await assayFiles({ 'a.las': lasOf(holed) }, [requirement], { zones });
    const [result] = report.requirements;
    expect(result.measured).toEqual({ cells: 96, share: 1 - 7 / 96, missingArea: 7 });
    expect(result.locations.map((l) => [l.x, l.y, l.value])).toEqual([
      [561_006.5, 5_932_199, 6],
      [561_012.5, 5_932_200.5, 1],
    ]);
    const again = await assayFiles({ 'a.las': lasOf(holed) }, [requirement], { zones, spanPoints: 2222 });
    expect(again.requirements).toEqual(report.requirements);
  });

  it('asks for two passes where two were agreed', async () => {
    const requirement = { check: 'coverage', cell: 1, zone: 'road', passes: 2 };
    expect((await assayOne({ 'a.las': lasOf(street) }, requirement, { zones })).measured.share).toBe(1);
    // Pass 2 loses a metre of the road, 6 cells of it in the zone.
    const lost = selectPoints(street, (i) => street.pointSourceId[i] !== 2 || cellOf(street.x[i], 1) !== 561_010);
    expect((await assayOne({ 'a.las': lasOf(lost) }, requirement, { zones })).measured.missingArea).toBe(6);
  });
});

describe('point distribution from file to report', () => {
  it('is the share of cells with a first return, the worst pass deciding', async () => {
    const requirement = { check: 'point-distribution', spacing: 0.5, minShare: 0.95, zone: 'road' };
    const sound = await assayOne({ 'a.las': lasOf(street) }, requirement, { zones });
    expect([sound.verdict, sound.measured.share, sound.measured.cells]).toEqual(['pass', 1, 2 * 96]);
    // Nine single cells of pass 1 emptied: 87 of 96 are left.
    const emptied = new Set(
      Array.from({ length: 9 }, (_, k) => `${561_003 + (k % 5) * 3} ${5_932_198 + 2 * Math.floor(k / 5)}`),
    );
    const patchy = selectPoints(
      street,
      (i) => street.pointSourceId[i] !== 1 || !emptied.has(`${cellOf(street.x[i], 1)} ${cellOf(street.y[i], 1)}`),
    );
    const result = await assayOne({ 'a.las': lasOf(patchy) }, requirement, { zones });
    expect([result.verdict, result.measured.share]).toEqual(['fail', 87 / 96]);
    expect(result.summary).toContain('source 1');
  });
});

describe('isolated points from file to report', () => {
  it('are none on a sound street, and exactly those planted', async () => {
    const requirement = { check: 'isolated-points', maxShare: 0 };
    const sound = await assayOne({ 'a.las': lasOf(street) }, requirement);
    expect([sound.verdict, sound.measured.points]).toEqual(['pass', 0]);
    const planted = strays([
      [561_004.5, 5_932_200.5, 30, 1],
      [561_004.6, 5_932_200.5, 30, 1],
      [561_012.5, 5_932_200.5, -20, 2],
      [561_900.5, 5_932_900.5, 3, 1],
      [561_008.5, 5_932_200.5, 40, 18],
    ]);
    const bytes = lasOf(joinPoints([street, planted]));
    const report = await assayFiles({ 'a.las': bytes }, [requirement]);
    expect(report.requirements[0].measured).toEqual({ points: 4, share: 4 / (street.count + 4) });
    const again = await assayFiles({ 'a.las': bytes }, [requirement], { spanPoints: 1500 });
    expect(again.requirements).toEqual(report.requirements);
  });
});

describe('transfer integrity from the command line', () => {
  it('a manifest made before the transfer shows what was changed, lost and added', async () => {
    const sent = join(folder, 'sent');
    mkdirSync(join(sent, 'tiles æ'), { recursive: true });
    const tile = lasOf(selectPoints(street, (i) => i % 40 === 0));
    for (const name of ['a.las', 'b b.las', 'ç.las']) writeFileSync(join(sent, 'tiles æ', name), tile);
    const quiet = { out: () => {}, err: () => {}, errTerminal: {}, outTerminal: {}, env: {} };
    const manifest = join(sent, 'SHA256SUMS');
    expect(await writeManifest([sent], manifest, quiet)).toBe(0);
    const spec = join(folder, 'spec.json');
    writeFileSync(
      spec,
      JSON.stringify({ spec: '1', title: 'transfer', requirements: [{ id: 'T', check: 'transfer-integrity' }] }),
    );
    const run = async () => {
      const report = await checkDelivery({ delivery: [sent], spec, manifest, workers: 1 });
      return {
        code: await check([sent], { spec, manifest, workers: 1, formats: [], quiet: true }, quiet),
        result: report.requirements[0],
      };
    };
    const whole = await run();
    expect([whole.code, whole.result.verdict]).toEqual([0, 'pass']);
    expect(whole.result.measured).toEqual({ listed: 3, same: 3, changed: 0, missing: 0, added: 0 });

    const flipped = tile.slice();
    flipped[flipped.length - 5] ^= 1;
    writeFileSync(join(sent, 'tiles æ', 'a.las'), flipped);
    rmSync(join(sent, 'tiles æ', 'b b.las'));
    writeFileSync(join(sent, 'new.las'), tile);
    const after = await run();
    expect(after.code).toBe(1);
    expect(after.result.measured).toEqual({ listed: 3, same: 1, changed: 1, missing: 1, added: 1 });
    expect(after.result.tables[0].rows.map((r) => r.slice(0, 2))).toEqual([
      ['tiles æ/a.las', 'not the bytes that were handed over'],
      ['tiles æ/b b.las', 'listed, but not received'],
      ['new.las', 'received, but not listed'],
    ]);
  });
});

import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Report } from '../../src/report/model.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { type DemoDelivery, writeSoundDelivery } from '../../src/simulate/demo/demo-delivery.js';

/** A made delivery in which nothing is wrong: an analytic scene, 6 mm noise of the scanner, 2 mm of the surveyed heights. */
let folder = '';
let sound: DemoDelivery;
let report: Report;

/** A spec published with the program, with what the scene asks otherwise. */
function specFrom(
  name: string,
  change: (requirement: Record<string, unknown>) => Record<string, unknown> | null,
): string {
  const spec = JSON.parse(readFileSync(join('specs', `${name}.json`), 'utf8'));
  spec.requirements = spec.requirements.flatMap((r: Record<string, unknown>) => change(r) ?? []);
  const path = join(folder, `${name}.json`);
  writeFileSync(path, JSON.stringify(spec));
  return path;
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-statement-'));
  sound = writeSoundDelivery(folder, { drive: false });
  const spec = specFrom('high-definition-road-map', (r) => {
    if (r.check === 'horizontal-accuracy') return null;
    return r.zone === undefined ? r : { ...r, zone: 'carriageway', min: 100 };
  });
  const { tiles, points, zones } = sound;
  report = await checkDelivery({ delivery: [tiles], spec, points, zones, workers: 1 });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('a published spec on a sound delivery', () => {
  it('the limits at 95 %, for single places and between passes are held and met', () => {
    const byId = new Map(report.requirements.map((r) => [r.id, r]));
    for (const id of ['ACC-V', 'REL-V', 'REL-H', 'DEN-1']) expect([id, byId.get(id)?.verdict]).toEqual([id, 'pass']);
    expect(byId.get('ACC-V')?.limits).toMatchObject({ at95: 0.2, largest: 0.4 });
    const { at95, rmse, largest } = byId.get('ACC-V')!.measured;
    expect(at95).toBeCloseTo(1.96 * rmse!, 6);
    expect(largest).toBeLessThan(0.02);
    expect(byId.get('REL-V')?.limits).toMatchObject({ p95Dz: 0.1, maxDz: 0.2 });
    expect(byId.get('REL-H')?.limits).toMatchObject({ p95Plan: 0.1, maxPlan: 0.2 });
    expect(byId.get('REL-H')?.measured.maxPlan).toBeLessThan(0.005);
    expect(byId.get('REL-H')?.measured.planShift).toBeLessThan(0.002);
  });

  it('the report states the accuracy in the form of NSSDA, and what it rests on', () => {
    const { statement, measured } = report.requirements.find((r) => r.id === 'ACC-V')!;
    expect(statement).toMatchObject({
      standard: 'nssda-1998',
      claimed: true,
      count: { asked: 20, met: true },
      spread: { askedSpacing: null, met: true },
      departures: [],
    });
    expect(statement?.sentence).toBe(
      `Tested ${(1.96 * measured.rmse!).toFixed(3)} meters vertical accuracy at 95% confidence level.`,
    );
    expect(statement?.remarks[0]).toContain('survey is not stated');
    expect(statement?.sources.every(({ mark }) => mark === 'read-T' || mark === 'computed')).toBe(true);
  });

  it('a quick look at half of the points claims nothing', async () => {
    const { tiles, points } = sound;
    const spec = specFrom('nssda-1998', (r) =>
      r.check === 'horizontal-accuracy'
        ? null
        : r.check === 'vertical-accuracy' || r.check === 'survey-point-set'
          ? { ...r, layout: 'corridor' }
          : r,
    );
    const quick = await checkDelivery({ delivery: [tiles], spec, points, workers: 1, sample: 0.5 });
    const { statement } = quick.requirements.find((r) => r.id === 'ACC-V')!;
    expect(statement?.claimed).toBe(false);
    expect(statement?.sentence).toMatch(/^Not a tested accuracy under the standard: .*quick look, not a test\./);
  });
});

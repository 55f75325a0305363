import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { reportJson } from '../../src/report/json.js';
import type { Report } from '../../src/report/model.js';
import { decodeSectionPoints } from '../../src/report/section-code.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { type DemoDelivery, writeDelivery } from '../../src/simulate/demo/demo-delivery.js';
import { DEMO_FAULTS } from '../../src/simulate/demo/demo-plan.js';

const folder = mkdtempSync(join(tmpdir(), 'close-ups-'));
let delivery: DemoDelivery;
let report: Report;

const check = (more: { spanPoints?: number; workers?: number }) =>
  checkDelivery({
    delivery: [delivery.tiles],
    spec: delivery.spec,
    points: delivery.points,
    zones: delivery.zones,
    workers: 1,
    ...more,
  });

beforeAll(async () => {
  delivery = writeDelivery(folder, { void: DEMO_FAULTS.void }, { drive: false });
  report = await check({});
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

test('a requirement that fails shows the cloud around its worst place: points all around the hole, none inside', () => {
  const gaps = report.requirements.find((r) => r.check === 'voids');
  expect(gaps?.verdict).toBe('fail');
  expect(gaps?.sections).toHaveLength(1);
  const section = gaps!.sections[0];
  const { dx, dy } = decodeSectionPoints(section);
  const [west, south, east, north] = DEMO_FAULTS.void;
  expect(section.found).toBeGreaterThan(500);
  const quadrants = new Set<string>();
  dx.forEach((x, i) => {
    const place = [section.x + x, section.y + dy[i]];
    expect(place[0] > west && place[0] < east && place[1] > south && place[1] < north).toBe(false);
    expect(Math.hypot(x, dy[i])).toBeLessThanOrEqual(section.reach + 1e-4);
    quadrants.add(`${x > 0} ${dy[i] > 0}`);
  });
  expect(quadrants.size).toBe(4);
});

test('requirements that are met are not looked at again', () => {
  const met = report.requirements.filter((r) => r.verdict === 'pass' && r.check !== 'vertical-accuracy');
  expect(met.length).toBeGreaterThan(1);
  expect(met.flatMap((r) => r.sections)).toEqual([]);
});

test('every survey point that has a height has its section', () => {
  const sections = report.requirements.find((r) => r.check === 'vertical-accuracy')!.sections;
  const withHeight = report.surveyPoints.filter((p) => p.dz !== null).map((p) => p.id);
  expect(withHeight.length).toBeGreaterThan(30);
  expect(sections.map((s) => s.surveyPoint)).toEqual(expect.arrayContaining(withHeight));
});

test('the report is the same however the files are cut into spans', async () => {
  expect(reportJson(await check({ spanPoints: 7001 }))).toBe(reportJson(report));
});

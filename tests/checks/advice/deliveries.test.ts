import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { RequirementResult } from '../../../src/report/model.js';
import { addVerticalBias } from '../../../src/simulate/scene/delivery-faults.js';
import { usualDrives } from '../../../src/simulate/scene/drives.js';
import type { PassFaults } from '../../../src/simulate/scene/pass-faults.js';
import { scanToColumns } from '../../../src/simulate/scene/scanner.js';
import { createStreet } from '../../../src/simulate/scene/street.js';
import { type SurveyedPoint, surveyCsv, surveyPoints } from '../../../src/simulate/scene/survey.js';
import type { SceneColumns } from '../../../src/simulate/writer/point-columns.js';
import { assayOne, lasOf } from '../check-files.js';

const street = createStreet({ origin: [561_010, 5_932_200], heightAtOrigin: 12 });
const survey = surveyPoints(street, {
  count: 12,
  role: 'check',
  prefix: 'CP',
  uFrom: -9,
  uTo: 9,
  vFrom: -2.5,
  vTo: 2.5,
  sigma: 0.002,
  seed: 3,
});
let folder = '';

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-advice-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function scan(faults: readonly (PassFaults | undefined)[] = [undefined, undefined]): SceneColumns {
  return scanToColumns({
    street,
    passes: usualDrives({ passes: faults.length, density: 80, faults }),
    from: -12,
    to: 12,
    seed: 21,
  });
}

/** Check points with their places observed manually in the cloud. */
async function assayPlan(
  measuredAt: (p: SurveyedPoint, i: number) => readonly [number, number],
): Promise<RequirementResult> {
  const csv = join(folder, 'places.csv');
  const rows = survey.map((p, i) => [p.id, p.x, p.y, p.z, ...measuredAt(p, i).map((v) => v.toFixed(4))].join());
  writeFileSync(csv, `id,easting,northing,height,cloud_x,cloud_y\n${rows.join('\n')}\n`);
  const requirement = { check: 'horizontal-accuracy', maxRmse: 0.05, minPoints: 10 };
  return assayOne({ 'street.las': lasOf(scan([undefined])) }, requirement, { points: csv });
}

async function assayHeights(points: SceneColumns, surveyed: readonly SurveyedPoint[]): Promise<RequirementResult> {
  const csv = join(folder, 'points.csv');
  writeFileSync(csv, surveyCsv(surveyed));
  const requirement = { check: 'vertical-accuracy', maxRmse: 0.02, minPoints: 10 };
  return assayOne({ 'street.las': lasOf(points) }, requirement, { points: csv });
}

const rulesOf = ({ causes }: RequirementResult) => causes.map(({ rule }) => rule);
const figureOf = ({ causes }: RequirementResult, name: string) =>
  causes[0].figures.find((figure) => figure.name === name)!.value!;

// What is planted is the outside truth: the scene is analytic, its faults have exact sizes.
describe('likely causes of height errors, end to end', () => {
  it('nothing is said of a sound delivery', async () => {
    const result = await assayHeights(scan(), survey);
    expect(result.verdict).toBe('pass');
    expect(result.causes).toEqual([]);
  });

  it('a wrong geoid of 45 mm', async () => {
    const points = scan();
    addVerticalBias(points, 0.045);
    const result = await assayHeights(points, survey);
    expect(rulesOf(result)).toEqual(['constant-height-offset']);
    expect(Math.abs(figureOf(result, 'mean') - 0.045)).toBeLessThan(0.002);
  });

  it('one pass 40 mm too low', async () => {
    const result = await assayHeights(scan([undefined, { shift: [0, 0, -0.04] }]), survey);
    expect(rulesOf(result)).toEqual(['one-pass-height']);
    expect(result.causes[0].text).toContain('Only source 2');
    expect(Math.abs(figureOf(result, 'apart') + 0.04)).toBeLessThan(0.003);
  });

  it('surveyed heights in feet', async () => {
    const feet = survey.map((p) => ({ ...p, z: p.z / 0.3048 }));
    const result = await assayHeights(scan(), feet);
    expect(rulesOf(result)).toContain('height-unit');
    expect(rulesOf(result)).not.toContain('constant-height-offset');
    expect(figureOf(result, 'ratio')).toBeCloseTo(0.3048, 3);
  });

  it('one point of 320 mm', async () => {
    const bad = survey.map((p, i) => (i === 4 ? { ...p, z: p.z + 0.32 } : p));
    const result = await assayHeights(scan(), bad);
    expect(rulesOf(result)).toEqual(['single-blunder']);
    expect(result.causes[0].text).toContain('Only CP05 stands out');
    expect(Math.abs(figureOf(result, 'size') - 0.32)).toBeLessThan(0.008);
  });

  it('points in feet, points with swapped axes, points in the next zone', async () => {
    const swapped = survey.map((p) => ({ ...p, x: p.y, y: p.x }));
    const feet = survey.map((p) => ({ ...p, x: p.x / 0.3048, y: p.y / 0.3048 }));
    const zone = survey.map((p) => ({ ...p, x: p.x - 395_000 }));
    expect(rulesOf(await assayHeights(scan(), feet))).toEqual(['points-in-another-unit']);
    expect(rulesOf(await assayHeights(scan(), swapped))).toEqual(['points-axes-swapped']);
    expect(rulesOf(await assayHeights(scan(), zone))).toEqual(['points-elsewhere']);
  });
});

describe('likely causes of differences in plan, end to end', () => {
  const jitter = (i: number) => (i % 2 === 0 ? 0.004 : -0.004);

  it('another realisation of the datum: 0.62 m east, 0.48 m north', async () => {
    const result = await assayPlan((p, i) => [p.x + 0.62 + jitter(i), p.y + 0.48 - jitter(i)]);
    expect(rulesOf(result)).toEqual(['plan-offset-one-way']);
    expect(figureOf(result, 'east')).toBeCloseTo(0.62, 3);
    expect(figureOf(result, 'north')).toBeCloseTo(0.48, 3);
  });

  it('US survey feet for international feet: 2 parts in a million of 561 and 5932 km', async () => {
    const ratio = 1200 / 3937 / 0.3048;
    const result = await assayPlan((p, i) => [p.x * ratio + jitter(i), p.y * ratio - jitter(i)]);
    expect(rulesOf(result)).toEqual(['foot-for-foot']);
    // 2 ppm x sqrt(561.01^2 + 5932.2^2) km = 11.917 m
    expect(Math.abs(figureOf(result, 'size') - 11.917)).toBeLessThan(0.01);
  });

  it('one point on the wrong mark', async () => {
    const result = await assayPlan((p, i) => [p.x + jitter(i) + (i === 7 ? 0.4 : 0), p.y - jitter(i)]);
    expect(rulesOf(result)).toEqual(['single-blunder']);
    expect(result.causes[0].text).toContain('Only CP08 stands out');
  });

  it('nothing is said of places that agree', async () => {
    expect((await assayPlan((p, i) => [p.x + jitter(i), p.y - jitter(i)])).causes).toEqual([]);
  });
});

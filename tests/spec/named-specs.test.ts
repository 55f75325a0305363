import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { checks } from '../../src/checks/index.js';
import { fragments } from '../../src/run/check-fragments.js';
import type { AcceptanceSpec } from '../../src/spec/acceptance-spec.js';
import { explainSpec } from '../../src/spec/explain.js';
import { parseSpec } from '../../src/spec/load.js';

const folder = new URL('../../specs/', import.meta.url);
const readme = readFileSync(new URL('README.md', folder), 'utf8');
const names = readdirSync(folder)
  .filter((file) => file.endsWith('.json') && !file.endsWith('.schema.json'))
  .map((file) => file.replace('.json', ''));
/** Specs of invented deliveries: their limits are agreed with nobody. */
const INVENTED = ['quay-road', 'rail-corridor', 'coast-airborne', 'road-drive'];
const published = names.filter((name) => !INVENTED.includes(name));

function load(name: string): AcceptanceSpec {
  return parseSpec(readFileSync(new URL(`${name}.json`, folder)), `${name}.json`, fragments());
}

function limit(name: string, id: string, option: string): unknown {
  const requirement = load(name).requirements.find((r) => r.id === id) as Record<string, unknown> | undefined;
  return requirement?.[option];
}

describe('named specs', () => {
  it.each(names)('%s is valid, reads in plain words, and is in the README', (name) => {
    const spec = load(name);
    const explainers = new Map(checks.map((check) => [check.id, (r: never) => check.explain(r)]));
    const words = explainSpec(spec, explainers as never);
    expect(words).not.toMatch(/undefined|NaN|\[object/);
    for (const { id } of spec.requirements) expect(words).toContain(id);
    expect(readme).toContain(`\`${name}.json\``);
  });

  it.each(published)('%s: every limit carries a mark that the README explains', (name) => {
    for (const { id, note } of load(name).requirements) {
      const marks = [...(note ?? '').matchAll(/\[([^\]]+)\]/g)].map(([, mark]) => mark);
      expect(marks.length, `${name} ${id}`).toBeGreaterThan(0);
      for (const mark of marks) expect(readme).toContain(`| \`${mark}\``);
    }
  });

  it('states the accuracy by the standard it is named after', () => {
    const stated = (name: string) =>
      load(name).requirements.flatMap((r) => ('standard' in r && r.standard !== undefined ? [r.standard] : []));
    expect(stated('asprs-2023')).toEqual(['asprs-2023', 'asprs-2023', 'asprs-2023']);
    expect(stated('asprs-2014')).toEqual(['asprs-2014', 'asprs-2014']);
    expect(stated('nssda-1998')).toEqual(['nssda-1998', 'nssda-1998']);
    for (const level of [0, 1, 2, 3]) expect(stated(`usgs-quality-level-${level}`)).toEqual(['usgs-quality-levels']);
    expect(stated('nchrp-748-1a')).toEqual(['nchrp-748']);
  });
});

describe('limits of the documents', () => {
  // USGS Lidar Base Specification 2025 rev. A, tables 1, 2 and 4, seen in a transcript; void area and cell of the precision
  // method worked out from its rules: (4 x spacing) squared, 2 x the spacing rounded up to whole metres.
  it.each([
    [0, 8, 0.35, 0.03, 0.04, 0.05, 1.96, 2],
    [1, 8, 0.35, 0.06, 0.08, 0.1, 1.96, 2],
    [2, 2, 0.71, 0.06, 0.08, 0.1, 8.0656, 2],
    [3, 0.5, 1.41, 0.12, 0.16, 0.2, 31.8096, 4],
  ])('quality level %i', (level, density, spacing, precision, swaths, nva, gap, cell) => {
    const name = `usgs-quality-level-${level}`;
    expect(limit(name, 'DEN-1', 'min')).toBe(density);
    expect(limit(name, 'DEN-1', 'count')).toBe('first');
    expect(limit(name, 'DIST-1', 'spacing')).toBe(spacing);
    expect(limit(name, 'PREC-1', 'maxRms')).toBe(precision);
    expect(limit(name, 'PREC-1', 'cell')).toBe(cell);
    expect(limit(name, 'REL-1', 'maxRmsDz')).toBe(swaths);
    expect(limit(name, 'ACC-V', 'maxRmse')).toBe(nva);
    expect(limit(name, 'GAP-1', 'maxArea')).toBeCloseTo(gap, 1);
  });

  // Korean rules on building and updating high-definition road maps, annex 1 and article 17, seen as an image of the page.
  it('high-definition road map', () => {
    const name = 'high-definition-road-map';
    for (const id of ['ACC-V', 'ACC-H']) {
      expect(limit(name, id, 'maxAt95')).toBe(0.2);
      expect(limit(name, id, 'maxResidual')).toBe(0.4);
    }
    expect(limit(name, 'REL-V', 'maxP95Dz')).toBe(0.1);
    expect(limit(name, 'REL-V', 'maxDz')).toBe(0.2);
    expect(limit(name, 'REL-V', 'maxRmsDz')).toBeCloseTo(0.1 / 1.96, 4);
    expect(limit(name, 'REL-H', 'maxP95Plan')).toBe(0.1);
    expect(limit(name, 'REL-H', 'maxPlan')).toBe(0.2);
    expect([limit(name, 'DEN-1', 'min'), limit(name, 'DEN-1', 'share')]).toEqual([400, 0.9]);
    // A blunder must begin beyond the single maximum, or the rule could not allow what it allows.
    expect((limit(name, 'ACC-V', 'blunderFactor') as number) * (0.2 / 1.96)).toBeGreaterThan(0.4);
    expect(((limit(name, 'ACC-H', 'blunderFactor') as number) * (0.2 / 1.7308)) / Math.SQRT2).toBeGreaterThan(0.4);
  });

  // Public survey operation rules of Japan (2025), vehicle photo-laser survey, table of map levels, seen in a transcript.
  it.each([
    [500, 0.15, 0.2, 400, 0.05],
    [1000, 0.3, 0.3, 100, 0.1],
  ])('vehicle survey, map level %i', (level, plan, height, density, pixel) => {
    const name = `vehicle-survey-map-level-${level}`;
    expect(limit(name, 'ACC-H', 'maxRmse')).toBe(plan);
    expect(limit(name, 'ACC-V', 'maxRmse')).toBe(height);
    expect(limit(name, 'DEN-1', 'min')).toBe(density);
    expect(limit(name, 'REL-1', 'maxAxisShift')).toBe(pixel);
  });

  // Korea, rules for HD road maps, notice 2023-4338, annex 2.2 and articles 14 and 18; Japan, public survey operation rules (2025), article
  // 491: annex seen as an image of the page, articles in transcripts.
  it.each([
    ['high-definition-road-map-drive', 0.1, 0.2, 0.05, 0.1],
    ['vehicle-survey-drive', 0.15, 0.2, 0.05, 0.15],
  ])('%s: limits of position and attitude', (name, horizontal, height, rollPitch, heading) => {
    expect(limit(name, 'TRJ-1', 'maxSigmaHorizontal')).toBe(horizontal);
    expect(limit(name, 'TRJ-1', 'maxSigmaHeight')).toBe(height);
    expect(limit(name, 'TRJ-1', 'maxSigmaRollPitch')).toBe(rollPitch);
    expect(limit(name, 'TRJ-1', 'maxSigmaHeading')).toBe(heading);
  });

  it('high-definition-road-map-drive: control and passes along the route', () => {
    const name = 'high-definition-road-map-drive';
    expect(limit(name, 'CTRL-1', 'minPerKm')).toBe(1);
    expect(limit(name, 'CTRL-1', 'minCheckShare')).toBe(1 / 5);
    expect(limit(name, 'ROUTE-1', 'lanesPerPass')).toBe(3);
    expect(limit(name, 'OUT-1', 'maxSeconds')).toBe(60);
  });

  // Shares of the class X: ASPRS Edition 2, 7.4, seen in a transcript; Edition 1, VVA 3.00 X, described by a handbook.
  it.each([
    ['asprs-2023', 0.05],
    ['asprs-2014', 0.1],
  ])('%s: passes within 0.60, 0.80 and 1.60 of the class', (name, x) => {
    expect(limit(name, 'ACC-V', 'maxRmse')).toBe(x);
    expect(limit(name, 'PREC-1', 'maxRange')).toBeCloseTo(0.6 * x, 12);
    expect(limit(name, 'REL-1', 'maxRmsDz')).toBeCloseTo(0.8 * x, 12);
    expect(limit(name, 'REL-1', 'maxDz')).toBeCloseTo(1.6 * x, 12);
  });

  it('asprs-2014: VVA three times the class, RMSEr 1.414 times that of an axis; asprs-2023: RMSE_3D of both', () => {
    expect(limit('asprs-2014', 'ACC-V-VEG', 'maxP95')).toBe(0.3);
    expect(limit('asprs-2014', 'ACC-H', 'maxRmse')).toBeCloseTo(0.1 * Math.SQRT2, 4);
    expect(limit('asprs-2023', 'ACC-3D', 'maxRmse')).toBeCloseTo(Math.hypot(0.05, 0.05), 4);
  });

  // From memory of NCHRP Report 748: level 1 under 0.05 m in space at 95 %, level A above 100 points a square metre.
  it('nchrp-748-1a', () => {
    expect(limit('nchrp-748-1a', 'ACC-3D', 'maxAt95')).toBe(0.05);
    expect(limit('nchrp-748-1a', 'DEN-1', 'min')).toBe(100);
  });
});

import { readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { reportJson, tidyNumber } from '../../src/report/json.js';
import type { Report } from '../../src/report/model.js';
import { acceptedQuayRoad, quayRoad } from './sample.js';

const schema = JSON.parse(readFileSync(new URL('../../specs/report.schema.json', import.meta.url), 'utf8'));
const validate = new Ajv2020({ allErrors: true, strict: true, allowUnionTypes: true }).compile(schema);

describe('report.json', () => {
  test('equal reports are equal bytes, whatever the order their keys were made in', () => {
    const backwards = (value: unknown): unknown => {
      if (Array.isArray(value)) return value.map(backwards);
      if (value === null || typeof value !== 'object') return value;
      return Object.fromEntries(
        Object.entries(value)
          .reverse()
          .map(([key, item]) => [key, backwards(item)]),
      );
    };
    expect(reportJson(backwards(quayRoad()) as Report)).toBe(reportJson(quayRoad()));
  });

  test('reads back as the same report, numbers within half of 1e-7', () => {
    const same = (a: unknown, b: unknown, path: string): void => {
      if (typeof a === 'number') expect(Math.abs((b as number) - a), path).toBeLessThanOrEqual(0.5000001e-7);
      else if (a === null || typeof a !== 'object') expect(b, path).toBe(a);
      else
        for (const [key, item] of Object.entries(a)) same(item, (b as Record<string, unknown>)[key], `${path}/${key}`);
    };
    const read = JSON.parse(reportJson(quayRoad()));
    same(quayRoad(), read, '');
    expect(Object.keys(read)).toEqual(Object.keys(quayRoad()));
  });

  test('keys are in the order of the declaration, figure names alphabetical, two-space indent, one line end at the end', () => {
    const text = reportJson(quayRoad());
    expect(text.startsWith('{\n  "report": "1",\n  "verdict": "rejected",\n  "tool": {\n    "name"')).toBe(true);
    expect(text.endsWith('}\n') && !text.endsWith('\n\n')).toBe(true);
    expect(Object.keys(JSON.parse(text).requirements[0].measured)).toEqual([
      'blunders',
      'mean',
      'n',
      'rmse',
      'rmseHigh',
      'rmseLow',
      'std',
      'used',
    ]);
  });

  test('noise of floating point does not show: 0.1 + 0.2 is 0.3 (IEEE 754 double)', () => {
    expect(tidyNumber(0.1 + 0.2)).toBe(0.3);
    expect(Object.is(tidyNumber(-0), 0)).toBe(true);
    expect(Object.is(tidyNumber(-1e-320), 0)).toBe(false);
    expect(tidyNumber(3 / 111e6)).toBe(2.703e-8);
    expect(tidyNumber(565108.123_456_789)).toBe(565108.1234568);
    expect(tidyNumber(Number.NaN)).toBeNull();
    expect(tidyNumber(Number.POSITIVE_INFINITY)).toBeNull();
    expect(tidyNumber(2 ** 53 - 1)).toBe(2 ** 53 - 1);
  });

  test('tidying twice changes nothing, and never turns something into nothing', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
        const once = tidyNumber(value) as number;
        expect(tidyNumber(once)).toBe(once);
        if (Math.abs(value) > 1e-300) expect(Math.sign(once)).toBe(Math.sign(value));
      }),
      { seed: 7, numRuns: 2000 },
    );
  });
});

describe('specs/report.schema.json', () => {
  test.each([
    ['rejected', quayRoad()],
    ['accepted', acceptedQuayRoad()],
  ])('takes a report that is %s', (_, report) => {
    validate(JSON.parse(reportJson(report)));
    expect(validate.errors ?? []).toEqual([]);
  });

  test.each<[string, (report: Report) => void]>([
    ['an unknown verdict', (r) => Object.assign(r, { verdict: 'approved' })],
    ['an unknown key', (r) => Object.assign(r.delivery, { colour: 'blue' })],
    ['a figure that is text', (r) => Object.assign(r.requirements[0].measured, { rmse: '14 mm' })],
    ['a missing id', (r) => Object.assign(r.requirements[0], { id: undefined })],
    ['a negative count', (r) => Object.assign(r.files[0], { points: -1 })],
    ['a shift of two numbers', (r) => r.passPairs[0].shift.pop()],
    ['a digest that is none', (r) => Object.assign(r.spec, { sha256: 'abc' })],
    ['a status of its own', (r) => Object.assign(r.surveyPoints[0], { status: 'fine' })],
  ])('refuses %s', (_, spoil) => {
    const report = quayRoad();
    spoil(report);
    expect(validate(JSON.parse(JSON.stringify(report)))).toBe(false);
  });

  test('describes every property', () => {
    const bare: string[] = [];
    const visit = (node: unknown, path: string): void => {
      if (node === null || typeof node !== 'object') return;
      for (const [name, property] of Object.entries((node as { properties?: object }).properties ?? {})) {
        if (!('description' in (property as object)) && !('$ref' in (property as object))) bare.push(`${path}/${name}`);
      }
      for (const [name, item] of Object.entries(node)) visit(item, `${path}/${name}`);
    };
    visit(schema, '');
    expect(bare).toEqual([]);
  });
});

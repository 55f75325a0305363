import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { csvColumns } from '../../src/report/csv-columns.js';
import { jsonText } from '../../src/report/json.js';
import { jsonSchemaOf } from '../../src/report-shape/json-schema.js';
import { passPair } from '../../src/report-shape/lines.js';
import { referenceLines } from '../../src/report-shape/reference-page.js';
import type { ObjectShape, ValueOf } from '../../src/report-shape/shape.js';

/** Pass pairs with two more columns, declared as a developer would declare them. */
const withMedian = {
  ...passPair,
  keys: {
    a: passPair.keys.a,
    medianDz: { type: 'number', unit: 'm', means: 'Median height difference.', nullWhen: 'no place could be compared' },
    b: passPair.keys.b,
    tilt: {
      type: 'list',
      of: { type: 'number', unit: 'm/m' },
      entries: ['x', 'y'],
      means: 'Slope of the height differences.',
      absentWhen: 'they have no slope',
    },
  },
} as const satisfies ObjectShape;

/** A small report with a list of these pairs. */
const small = {
  type: 'object',
  means: 'Pairs of passes.',
  keys: { pairs: { type: 'list', of: withMedian, means: 'The pairs.' } },
} as const satisfies ObjectShape;

const report: ValueOf<typeof small> = {
  pairs: [
    { b: '12', medianDz: 0.1 + 0.2, a: '11', tilt: [0.001, -0.002] },
    { b: '13', a: '11', medianDz: null },
  ],
};

describe('a column that is added to a declaration', () => {
  it('is part of the type: a line without it, or with its name misspelt, does not compile', () => {
    // @ts-expect-error the column is missing
    const missing: ValueOf<typeof withMedian> = { a: '11', b: '12' };
    // @ts-expect-error its name is misspelt
    const misspelt: ValueOf<typeof withMedian> = { a: '11', b: '12', medianDz: 0, medianDZ: 0 };
    // @ts-expect-error its value is not a number
    const text: ValueOf<typeof withMedian> = { a: '11', b: '12', medianDz: '0.3' };
    expect([missing, misspelt, text]).toHaveLength(3);
  });

  it('is written at its place, whatever the order in which the line was built', () => {
    const [first, second] = JSON.parse(jsonText(report, small)).pairs;
    expect(Object.entries(first)).toEqual([
      ['a', '11'],
      ['medianDz', 0.3],
      ['b', '12'],
      ['tilt', [0.001, -0.002]],
    ]);
    expect(Object.keys(second)).toEqual(['a', 'medianDz', 'b']);
  });

  it('is in the JSON Schema: a general validator accepts it, and refuses another type, length or name', () => {
    const schema = jsonSchemaOf(small, { $schema: 'https://json-schema.org/draft/2020-12/schema' });
    const validate = new Ajv2020({ strict: true, allowUnionTypes: true }).compile(schema);
    expect(validate(JSON.parse(jsonText(report, small)))).toBe(true);
    const [line] = report.pairs;
    for (const wrong of [
      { ...line, medianDz: '0.3' },
      { ...line, medianDz: undefined },
      { ...line, tilt: [0.001] },
      { ...line, medianDZ: 0.3 },
    ])
      expect(validate(JSON.parse(JSON.stringify({ pairs: [wrong] }))), JSON.stringify(wrong)).toBe(false);
    expect(schema.$defs).toMatchObject({
      passPair: {
        required: ['a', 'medianDz', 'b'],
        properties: {
          medianDz: { description: 'Median height difference. Null when no place could be compared. Unit: metres.' },
        },
      },
    });
  });

  it('is in the reference page, with its type, unit and meaning', () => {
    expect(referenceLines(small, 'Pairs')).toEqual(
      expect.arrayContaining([
        '## passPair',
        '| `medianDz` | number or null | metres | Median height difference. Null when no place could be compared. |',
        '| `tilt` | list of 2 (number) | metres per metre | Slope of the height differences. Entries: x, y. Absent when they have no slope. |',
      ]),
    );
  });

  it('is a column of the CSV file, and so is each entry of a list of fixed length', () => {
    const { names, fields } = csvColumns(withMedian);
    expect(names).toEqual(['a', 'median_dz', 'b', 'tilt_x', 'tilt_y']);
    expect(fields(report.pairs[0])).toEqual(['11', 0.1 + 0.2, '12', 0.001, -0.002]);
    expect(fields(report.pairs[1])).toEqual(['11', null, '13', undefined, undefined]);
  });
});

describe('a mistake in a declaration', () => {
  it('two different objects with one name are refused', () => {
    const twice: ObjectShape = {
      type: 'object',
      means: 'Two objects.',
      keys: {
        one: { type: 'reference', of: passPair, means: 'One.' },
        other: { type: 'reference', of: withMedian, means: 'Another.' },
      },
    };
    expect(() => jsonSchemaOf(twice, {})).toThrow('two different objects have the name passPair');
  });

  it('a number without a unit, and a key without a meaning, do not compile', () => {
    const bare = { type: 'object', means: 'A line.' } as const;
    // @ts-expect-error a number has a unit, or the key that names it
    const unit: ObjectShape = { ...bare, keys: { dz: { type: 'number', means: 'Height difference.' } } };
    // @ts-expect-error a key has a meaning
    const means: ObjectShape = { ...bare, keys: { dz: { type: 'number', unit: 'm' } } };
    expect([unit, means]).toHaveLength(2);
  });

  it('another number of column names than entries is refused', () => {
    const { keys } = withMedian;
    const short: ObjectShape = { ...withMedian, keys: { tilt: { ...keys.tilt, csv: ['tilt'] } } };
    expect(() => csvColumns(short)).toThrow('tilt names 1 columns for 2 entries');
  });
});

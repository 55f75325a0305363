import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { csvText, plainNumber } from '../../../src/report/html/viewer/csv-text.js';
import { localise, marksOf } from '../../../src/report/html/viewer/numbers.js';
import { isInside } from '../../../src/report/html/viewer/place-reading.js';

describe('numbers as the reader writes them', () => {
  // Separators of the Unicode CLDR, as the runtime's Intl has them.
  test.each([
    ['en-GB', '1,234,567.8', '1,234,567.8'],
    ['de-DE', '1,234,567.8', '1.234.567,8'],
    ['da-DK', '1,234,567.8', '1.234.567,8'],
    ['fr-FR', '1,234,567.8', '1\u202f234\u202f567,8'],
  ])('%s: %s is %s', (language, text, expected) => {
    expect(localise(text, marksOf(language))).toBe(expected);
  });

  test('words, dates, names and whole numbers below a thousand stay as they are', () => {
    const marks = marksOf('de-DE');
    for (const text of ['5 files', '2025-04-10', 'EPSG:25832', 'quay_561000_5932200.las', '+12 to -3', 'a, b and c'])
      expect(localise(text, marks)).toBe(text);
    expect(localise('dz +24.6 mm of 1,976 places; 0.5 m', marks)).toBe('dz +24,6 mm of 1.976 places; 0,5 m');
    expect(localise('561024.22', marks)).toBe('561024,22');
  });

  test('an unknown language is no reason to stop', () => {
    expect(marksOf('not a language')).toEqual({ group: ',', decimal: '.' });
  });
});

describe('a table as CSV', () => {
  const german = marksOf('de-DE');
  const english = marksOf('en-GB');

  test('comma and point, or semicolon and comma, as spreadsheets of the language take it', () => {
    const row = (cell: string, marks: typeof german) => csvText([['name', cell]], marks);
    expect(row('1,976', english)).toBe('name,1976\r\n');
    expect(row('1.976', german)).toBe('name;1976\r\n');
    expect(row('+24,6', german)).toBe('name;24,6\r\n');
    expect(row('+24.6', english)).toBe('name,24.6\r\n');
  });

  test('any text comes back from a CSV reader, formulas defused', () => {
    fc.assert(
      fc.property(fc.array(fc.array(fc.string(), { minLength: 2, maxLength: 3 }), { minLength: 1 }), (rows) => {
        const text = csvText(rows, english);
        const back = parse(text, { relax_column_count: true, record_delimiter: '\r\n' }) as string[][];
        const expected = rows.map((row) =>
          row.map((cell) => plainNumber(cell, english) ?? (/^[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell)),
        );
        expect(back).toEqual(expected);
      }),
      { seed: 41, numRuns: 300 },
    );
  });
});

test('inside a zone with a hole, by the even-odd rule', () => {
  const outer = [0, 0, 10, 0, 10, 10, 0, 10, 0, 0];
  const hole = [4, 4, 6, 4, 6, 6, 4, 6, 4, 4];
  expect(isInside([outer, hole], 1, 1)).toBe(true);
  expect(isInside([outer, hole], 5, 5)).toBe(false);
  expect(isInside([outer, hole], 11, 5)).toBe(false);
});

import { describe, expect, test } from 'vitest';
import { figuresWithLimits } from '../../src/report/figures.js';
import { besideLimit, bytesInWords, columnScale, inColumn, quantity } from '../../src/report/quantity.js';
import { exitCodeOf, verdictSentence } from '../../src/report/wording.js';
import { acceptedQuayRoad, quayRoad } from './sample.js';

// Conversions are those of the SI (1 m = 1000 mm, 1 % = 0.01); wording and decimals are this project's own.
describe('numbers in words', () => {
  test.each([
    [0.0124, 'm', '12.4 mm'],
    [-0.0124, 'm', '-12.4 mm'],
    [0.99996, 'm', '1,000.0 mm'],
    [1.2, 'm', '1.200 m'],
    [0.98, 'share', '98.00 %'],
    [1234567, 'count', '1,234,567'],
    [1184.2, 'points/m2', '1,184.2 points/m²'],
    [0.5, 'm2', '0.50 m²'],
    [0, 'm', '0.0 mm'],
    [-0.00001, 'm', '-0.010 mm'],
    [2.7e-8, 'share', '0.0000027 %'],
    [null, 'm', '–'],
    [3, 'furlong', '3.000 furlong'],
    [12.5, 'degree', '12.500°'],
    [3.28084, 'ratio', '3.2808'],
  ])('%s %s', (value, unit, text) => expect(quantity(value, unit)).toBe(text));

  test('what differs from its limit never reads like it', () => {
    expect(besideLimit(0.97996, 0.98, 'share')).toEqual({ measured: '97.996 %', limit: '98.000 %' });
    expect(besideLimit(0.0200001, 0.02, 'm')).toEqual({ measured: '20.0001 mm', limit: '20.0000 mm' });
    expect(besideLimit(0.02, 0.02, 'm')).toEqual({ measured: '20.0 mm', limit: '20.0 mm' });
    expect(besideLimit(null, 0.02, 'm').measured).toBe('–');
  });

  test('a column keeps one unit and one number of decimals', () => {
    const scale = columnScale([0.004, -1.25, null], 'm');
    expect([0.004, -1.25, null].map((v) => inColumn(v, scale, true))).toEqual(['+0.004', '-1.250', '–']);
    expect(inColumn(0.00001, columnScale([0.004], 'm'), true)).toBe('0.0');
  });

  test('bytes, decimal (IEC 80000-13: kB is 1000 bytes)', () => {
    expect([999, 1000, 999_949, 999_950, 1.9e9].map(bytesInWords)).toEqual([
      '999 bytes',
      '1.0 kB',
      '999.9 kB',
      '1.0 MB',
      '1.9 GB',
    ]);
  });
});

describe('figures and limits', () => {
  const [base] = quayRoad().requirements;
  test('are paired by name and have the label of the check; a limit of no single figure comes last', () => {
    const pairs = figuresWithLimits({
      ...base,
      measured: { rmse: 0.01, maxDz: 0.03, constructor: 1 },
      limits: { min: 400, rmse: 0.02, maxDz: 0.04 },
      labels: { rmse: 'RMSE', maxDz: 'largest dz', min: 'density of a cell' },
      units: { rmse: 'm', maxDz: 'm', min: 'points/m2' },
    });
    expect(pairs.map((p) => [p.label, p.measuredText, p.limitText])).toEqual([
      ['RMSE', '10.0 mm', '20.0 mm'],
      ['largest dz', '30.0 mm', '40.0 mm'],
      ['density of a cell', '', '400.0 points/m²'],
    ]);
  });
});

describe('the verdict', () => {
  test('in a sentence that counts what carries it', () => {
    expect(verdictSentence(quayRoad())).toBe(
      'Rejected: 2 of 5 mandatory requirements not met; 1 mandatory requirement undetermined; 1 file could not be fully read; 1 advisory requirement not met, which does not change the verdict.',
    );
    expect(verdictSentence(acceptedQuayRoad())).toBe(
      'Accepted: the delivery meets all 2 mandatory requirements that apply.',
    );
  });

  test('exit codes as the command line promises', () => {
    expect((['accepted', 'rejected', 'undetermined'] as const).map(exitCodeOf)).toEqual([0, 1, 3]);
  });
});

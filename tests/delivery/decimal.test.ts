import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createDecimalReader } from '../../src/delivery/decimal.js';

const one = (text: string) => createDecimalReader()(text);

describe('numbers of a file', () => {
  it('come back exactly, with point or comma', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), fc.constantFrom('.', ','), (value, mark) => {
        const read = one(` ${String(value).replace('.', mark)} `);
        expect(read).toEqual({ value: Number(String(value)) });
      }),
    );
  });

  it.each([
    ["5'800'107.288", 5800107.288],
    ['5\u2019800\u2019107,288', 5800107.288],
    ['5 800 107,288', 5800107.288],
    ['-5\u00a0800', -5800],
    ['\u221212.5', -12.5],
    ['+3.', 3],
    ['.5', 0.5],
    ['1,234', 1.234],
  ])('%s is %d', (text, value) => {
    expect(one(text)).toEqual({ value });
  });

  it.each([
    ['1.234.567', 'thousands separators are not allowed'],
    ['1.234,5', 'thousands separators are not allowed'],
    ['1,234,567.8', 'thousands separators are not allowed'],
    ['12.3 m', 'a number is expected here'],
    ['12 3', 'a number is expected here'],
    ['1.2.3', 'a number is expected here'],
    ['', 'a number is expected here'],
    ['0x10', 'a number is expected here'],
    ['1e999', 'the number is too large'],
  ])('%s: %s', (text, problem) => {
    expect((one(text) as { problem: string }).problem).toContain(problem);
  });

  it('must have one decimal mark throughout', () => {
    const read = createDecimalReader();
    expect(read('12')).toEqual({ value: 12 });
    expect(read('1,5')).toEqual({ value: 1.5 });
    expect(read('1.5')).toEqual({ problem: 'the decimal mark is "." here and "," in earlier numbers of the file' });
  });
});

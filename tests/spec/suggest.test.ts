import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { editDistance, nearest } from '../../src/spec/suggest.js';

describe('editDistance', () => {
  // kitten/sitting: the example of V. I. Levenshtein's distance in most textbooks (from memory); ca/abc: 3 in the optimal
  // string alignment form, against 2 without its restriction (from memory of the same textbooks).
  it.each([
    ['kitten', 'sitting', 3],
    ['ca', 'abc', 3],
    ['', 'abc', 3],
    ['maxRmes', 'maxRmse', 1],
  ])('%s to %s is %i', (a, b, distance) => {
    expect(editDistance(a, b)).toBe(distance);
  });

  it('is zero only for equal words, symmetric, and bounded by the lengths', () => {
    const word = fc.string({ maxLength: 8 });
    fc.assert(
      fc.property(word, word, (a, b) => {
        const distance = editDistance(a, b);
        expect(distance === 0).toBe(a === b);
        expect(editDistance(b, a)).toBe(distance);
        expect(distance).toBeGreaterThanOrEqual(Math.abs(a.length - b.length));
        expect(distance).toBeLessThanOrEqual(Math.max(a.length, b.length));
      }),
    );
  });
});

describe('nearest', () => {
  const checks = ['density', 'voids', 'vertical-accuracy', 'horizontal-accuracy', 'pass-agreement', 'crs'];
  it.each([
    ['desnity', 'density'],
    ['void', 'voids'],
    ['verticalAccuracy', 'vertical-accuracy'],
    ['Vertical_Accuracy', 'vertical-accuracy'],
    ['vertical', 'vertical-accuracy'],
    ['colour', null],
    ['', null],
  ])('%s: %s', (word, expected) => {
    expect(nearest(word, checks)).toBe(expected);
  });

  it('does not depend on the order of the candidates', () => {
    fc.assert(
      fc.property(
        fc.shuffledSubarray(checks, { minLength: 6 }),
        (order) => nearest('vertcal-acuracy', order) === 'vertical-accuracy',
      ),
    );
  });
});

import { describe, expect, it } from 'vitest';
import { passShift } from '../../../src/checks/advice/pass-shift.js';
import { pairFacts, passFacts } from './facts.js';

describe('pass-shift', () => {
  it('names the shift of the worst pair, axis by axis', () => {
    const pair = pairFacts('source 1', 'source 2', { failing: true, shift: [0.0296, -0.0199, 0.025] });
    const advice = passShift.advise(passFacts([pair]))!;
    expect(advice.text).toMatch(/^source 2 lies \+29.6 mm in x, -19.9 mm in y, \+25.0 mm in z from source 1/);
    expect(advice.figures.z).toEqual({ value: 0.025, unit: 'm' });
  });

  it('leaves out an axis that no surface reveals', () => {
    const pair = pairFacts('source 1', 'source 2', { failing: true, shift: [null, null, 0.025] });
    const advice = passShift.advise(passFacts([pair]))!;
    expect(advice.text).toContain('source 2 lies +25.0 mm in z from source 1');
    expect(Object.keys(advice.figures)).toEqual(['z']);
  });

  it('advises no constant shift where the difference changes from place to place', () => {
    const shift: [null, null, number] = [null, null, 0.0199];
    const changing = { failing: true, shift, meanDz: 0.0199, variation: { least: 0.001, most: 0.039, squares: 12 } };
    const advice = passShift.advise(passFacts([pairFacts('source 1', 'source 2', changing)]))!;
    expect(advice.text).toContain('changes from +1.0 mm to +39.0 mm');
    expect(advice.text).not.toContain('apply the opposite shift');
    const constant = { ...changing, variation: { least: 0.0185, most: 0.0215, squares: 12 } };
    expect(passShift.advise(passFacts([pairFacts('source 1', 'source 2', constant)]))!.text).toContain(
      'apply the opposite shift',
    );
  });

  it('is quiet where the pair does not fail, or nothing can be seen', () => {
    expect(passShift.advise(passFacts([pairFacts('a', 'b', { shift: [0.1, 0, 0] })]))).toBeNull();
    const unseen = pairFacts('a', 'b', { failing: true, shift: [null, null, null] });
    expect(passShift.advise(passFacts([unseen]))).toBeNull();
  });
});

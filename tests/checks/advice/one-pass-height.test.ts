import { describe, expect, it } from 'vitest';
import { onePassHeight } from '../../../src/checks/advice/one-pass-height.js';
import { passHeights, scattered } from './facts.js';

const SOUND = scattered(10, 0.001, 0.003);

describe('one-pass-height', () => {
  it('names the pass that lies off the points while the others do not', () => {
    const facts = passHeights({ 'source 1': SOUND, 'source 2': scattered(10, -0.03, 0.003), 'source 3': SOUND });
    const advice = onePassHeight.advise(facts)!;
    expect(advice.text).toContain('Only source 2 lies off the check points');
    expect(advice.text).toContain('the other 2 passes lie');
    // Medians of ten values: the planted middle within their scatter of 3 mm.
    expect(Math.abs(advice.figures.offset.value! + 0.03)).toBeLessThanOrEqual(0.003);
  });

  it('is quiet where all passes lie off, or two of three', () => {
    const off = scattered(10, 0.03, 0.003);
    expect(onePassHeight.advise(passHeights({ 'source 1': off, 'source 2': off }))).toBeNull();
    expect(onePassHeight.advise(passHeights({ 'source 1': off, 'source 2': off, 'source 3': SOUND }))).toBeNull();
  });

  it('is quiet below half of the limit, and where the scatter is as large', () => {
    expect(onePassHeight.advise(passHeights({ a: SOUND, b: scattered(10, 0.009, 0.001) }))).toBeNull();
    expect(onePassHeight.advise(passHeights({ a: SOUND, b: scattered(10, 0.03, 0.09) }))).toBeNull();
  });

  it('needs two passes with three points each', () => {
    expect(onePassHeight.advise(passHeights({ a: scattered(10, 0.05, 0.002) }))).toBeNull();
    expect(onePassHeight.advise(passHeights({ a: [0, 0], b: [0.05, 0.05] }))).toBeNull();
  });
});

import { describe, expect, it } from 'vitest';
import { constantHeightOffset } from '../../../src/checks/advice/constant-height-offset.js';
import { heightFacts, passHeights, scattered } from './facts.js';

describe('constant-height-offset', () => {
  it('names an offset of all points, its size and its sense', () => {
    const advice = constantHeightOffset.advise(heightFacts(scattered(30, -0.033, 0.008)))!;
    expect(advice.text).toContain('33.0 mm below the check points');
    expect(advice.text).toContain('geoid model');
    expect(advice.figures.mean.value).toBeCloseTo(-0.033, 9);
  });

  // The alarm of ASPRS edition 2, 7.2: a mean above a quarter of the RMSE asked for, here 5 of 20 mm.
  it('speaks from a quarter of the limit on, as the standard has it', () => {
    expect(constantHeightOffset.advise(heightFacts(scattered(30, 0.0051, 0.001)))).not.toBeNull();
    expect(constantHeightOffset.advise(heightFacts(scattered(30, 0.0049, 0.001)))).toBeNull();
  });

  it('is quiet where the mean may be chance: less than three standard errors, or two points', () => {
    // Scatter 18 mm at 16 points: standard error 4.6 mm, so 12 mm may be chance and 15 mm is not.
    expect(constantHeightOffset.advise(heightFacts(scattered(16, 0.012, 0.018)))).toBeNull();
    expect(constantHeightOffset.advise(heightFacts(scattered(16, 0.015, 0.018)))).not.toBeNull();
    expect(constantHeightOffset.advise(heightFacts([0.05, 0.05]))).toBeNull();
  });

  it('is quiet where a ratio of units or a single pass explains it', () => {
    const feet = heightFacts([]);
    const points = Array.from({ length: 8 }, (_, i) => ({
      ...heightFacts([0]).points[0],
      z: 4 + i,
      dz: (4 + i) * (1 / 0.3048 - 1),
    }));
    expect(constantHeightOffset.advise({ ...feet, points })).toBeNull();
    const onePass = passHeights({ 'source 1': scattered(12, 0, 0.003), 'source 2': scattered(12, 0.04, 0.003) });
    expect(constantHeightOffset.advise(onePass)).toBeNull();
    const both = passHeights({ 'source 1': scattered(12, 0.04, 0.003), 'source 2': scattered(12, 0.04, 0.003) });
    expect(constantHeightOffset.advise(both)).not.toBeNull();
  });
});

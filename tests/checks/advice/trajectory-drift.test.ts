import { describe, expect, it } from 'vitest';
import { trajectoryDrift } from '../../../src/checks/advice/trajectory-drift.js';

const slope = { from: 131, to: 171, slope: 0.0001, std: 0.000005 };

describe('trajectory-drift', () => {
  it('points to the trajectory of the pass', () => {
    const advice = trajectoryDrift.advise({ pass: 'source 2', steps: [], slope, gaps: [] })!;
    expect(advice.text).toContain('trajectory of source 2');
    expect(advice.figures.slope.value).toBeCloseTo(6, 9);
  });

  it('is quiet where a gap of time explains it', () => {
    const steps = [{ at: 130, gap: 30, step: 0.02 }];
    expect(trajectoryDrift.advise({ pass: 'source 2', steps, slope, gaps: [] })).toBeNull();
  });
});

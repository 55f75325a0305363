import { describe, expect, it } from 'vitest';
import { satelliteOutage } from '../../../src/checks/advice/satellite-outage.js';

const quiet = { pass: 'source 2', steps: [], slope: null, gaps: [] };
const slope = { from: 131, to: 171, slope: 0.0001, std: 0.000005 };

describe('satellite-outage', () => {
  it('names a step over a gap of time', () => {
    const advice = satelliteOutage.advise({ ...quiet, steps: [{ at: 130.5, gap: 30, step: 0.02 }] })!;
    expect(advice.text).toContain('source 2 comes back +20.0 mm different after 30.0 s');
    expect(advice.text).toContain('before GPS time 130.5 s');
  });

  it('names a drift that begins at the end of a gap', () => {
    const advice = satelliteOutage.advise({ ...quiet, slope, gaps: [{ from: 100, to: 130 }] })!;
    // 0.1 mm a second
    expect(advice.text).toContain('begins to drift by 6.0 mm a minute at GPS time 131.0 s, just after a gap of 30.0 s');
  });

  it('is quiet for steps and drifts without a gap', () => {
    expect(satelliteOutage.advise({ ...quiet, steps: [{ at: 130, gap: 0, step: 0.02 }] })).toBeNull();
    expect(satelliteOutage.advise({ ...quiet, slope })).toBeNull();
  });

  it('is quiet where the drift began before the gap, long after it, or is none', () => {
    expect(satelliteOutage.advise({ ...quiet, slope, gaps: [{ from: 140, to: 150 }] })).toBeNull();
    expect(satelliteOutage.advise({ ...quiet, slope, gaps: [{ from: 90, to: 100 }] })).toBeNull();
    expect(satelliteOutage.advise({ ...quiet, slope, gaps: [{ from: 129, to: 130 }] })).toBeNull();
    const level = { ...slope, slope: 0.00001 };
    expect(satelliteOutage.advise({ ...quiet, slope: level, gaps: [{ from: 100, to: 130 }] })).toBeNull();
  });
});

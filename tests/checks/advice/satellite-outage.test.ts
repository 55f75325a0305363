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

  const told = (value: number) => ({ value, std: 0.000005 });
  const gap = (more = {}) => ({ from: 100, to: 130, before: told(0.00001), after: told(0.0001), ...more });

  it('names a drift that begins at the end of a gap', () => {
    const advice = satelliteOutage.advise({ ...quiet, slope, gaps: [gap()] })!;
    // 0.1 mm a second
    expect(advice.text).toContain('begins to drift by 6.0 mm a minute at GPS time 130.0 s, after a gap of 30.0 s');
    expect(satelliteOutage.advise({ ...quiet, slope, gaps: [gap({ before: null })] })).not.toBeNull();
  });

  it('is quiet for steps and drifts without a gap', () => {
    expect(satelliteOutage.advise({ ...quiet, steps: [{ at: 130, gap: 0, step: 0.02 }] })).toBeNull();
    expect(satelliteOutage.advise({ ...quiet, slope })).toBeNull();
  });

  it('is quiet where the drift was there before the gap, is elsewhere, or is none, and for a gap of a second', () => {
    expect(satelliteOutage.advise({ ...quiet, slope, gaps: [gap({ before: told(0.00008) })] })).toBeNull();
    expect(satelliteOutage.advise({ ...quiet, slope, gaps: [gap({ after: told(0.00003) })] })).toBeNull();
    expect(satelliteOutage.advise({ ...quiet, slope, gaps: [gap({ after: null })] })).toBeNull();
    expect(satelliteOutage.advise({ ...quiet, slope, gaps: [gap({ from: 129 })] })).toBeNull();
    const noisy = { value: 0.0001, std: 0.00004 };
    expect(satelliteOutage.advise({ ...quiet, slope, gaps: [gap({ after: noisy })] })).toBeNull();
  });
});

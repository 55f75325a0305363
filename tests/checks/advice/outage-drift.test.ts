import { describe, expect, it } from 'vitest';
import { outageDrift } from '../../../src/checks/advice/outage-drift.js';
import type { OutageOffset } from '../../../src/checks/advice/rule.js';
import { quietDrive } from './vehicle-course.js';

const outage = (more: Partial<OutageOffset> = {}): OutageOffset => ({
  from: 200,
  to: 240,
  axis: 'left',
  peak: { value: -0.08, std: 0.002 },
  before: 0.001,
  after: -0.002,
  ...more,
});
const advise = (outages: OutageOffset[], left = 0.002) =>
  outageDrift.advise({ ...quietDrive, outages, outside: { along: 0, left, up: 0 } });

describe('outage-drift', () => {
  it('names the outage with which a drift begins and ends', () => {
    const { text, figures } = advise([outage()])!;
    expect(text).toContain('drifts by up to -80.0 mm to the left while it had no satellites');
    expect(text).toContain('from GPS time 200.0 s to 240.0 s (40.0 s)');
    expect(figures).toMatchObject({ offset: { value: -0.08, unit: 'm' }, outage: { value: 40, unit: 's' } });
    expect(advise([outage({ before: null })])).not.toBeNull();
  });

  it('names the largest of several', () => {
    expect(
      advise([outage(), outage({ from: 300, to: 330, peak: { value: 0.2, std: 0.002 } })])!.figures.from.value,
    ).toBe(300);
  });

  it.each([
    ['the drift was there before', outage({ before: -0.05 })],
    ['the drift stays', outage({ after: -0.07 })],
    ['nothing is seen before or after', outage({ before: null, after: null })],
    ['it is below the limit', outage({ peak: { value: 0.009, std: 0.0001 } })],
    ['it is noise', outage({ peak: { value: 0.08, std: 0.04 } })],
  ])('is quiet where %s', (_, near) => {
    expect(advise([near])).toBeNull();
  });

  it('is quiet where the pass is off even more elsewhere, and without outages', () => {
    expect(advise([outage()], 0.1)).toBeNull();
    expect(advise([])).toBeNull();
  });
});

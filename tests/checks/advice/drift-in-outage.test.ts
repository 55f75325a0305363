import { describe, expect, it } from 'vitest';
import { driftInOutage } from '../../../src/checks/advice/drift-in-outage.js';

// Bins by hand: 40 mm with a standard deviation of 2 mm stands out, 5 mm does not (three standard deviations, common practice).
const bin = (at: number, offset: number) => ({ at, offset, std: 0.002 });
const facts = (...offsets: number[]) => ({
  pass: 'source 1',
  start: 100,
  seconds: 30,
  bins: offsets.map((offset, i) => bin(100 + i, offset)),
  usual: 0 as number | null,
});

describe('drift-in-outage', () => {
  it('names the largest offset of the pass within the loss', () => {
    const advice = driftInOutage.advise(facts(0.01, -0.04, 0.003))!;
    expect(advice.text).toContain('source 1 is -40.0 mm against the other passes at 101.0 s');
    expect(advice.figures.offset).toEqual({ value: -0.04, unit: 'm' });
  });

  it('is quiet where the pass lies as far from the others outside the loss, or nothing is known there', () => {
    expect(driftInOutage.advise({ ...facts(-0.0125, -0.012), usual: -0.0125 })).toBeNull();
    expect(driftInOutage.advise({ ...facts(0.04), usual: null })).toBeNull();
  });

  it('is quiet where nothing stands out, or nothing was compared', () => {
    expect(driftInOutage.advise(facts(0.005, -0.006))).toBeNull();
    expect(driftInOutage.advise(facts())).toBeNull();
  });
});

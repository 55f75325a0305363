import { describe, expect, it } from 'vitest';
import { rangeGrowth } from '../../../src/checks/advice/range-growth.js';
import { pairFacts, passFacts } from './facts.js';

const grows = (value: number, std = 0.00005, farthest = 12) =>
  pairFacts('a', 'b', { failing: true, range: { value, std, farthest } });

describe('range-growth', () => {
  it('tells how much heights rise with the distance from the track', () => {
    const advice = rangeGrowth.advise(passFacts([grows(0.0015), grows(0.0017)]))!;
    expect(advice.text).toContain("rise with the distance from the vehicle's track by 16.0 mm in 10 m");
    expect(advice.figures.metresPerMetre.value).toBeCloseTo(0.0016, 12);
    expect(rangeGrowth.advise(passFacts([grows(-0.002)]))!.text).toContain('Heights fall');
  });

  it('is quiet where pairs show either sense, or one of them nothing', () => {
    expect(rangeGrowth.advise(passFacts([grows(0.0015), grows(-0.0015)]))).toBeNull();
    expect(rangeGrowth.advise(passFacts([grows(0.0015), grows(0.00001)]))).toBeNull();
  });

  it('is quiet within three standard deviations, below half of the limit, and where nothing is known', () => {
    expect(rangeGrowth.advise(passFacts([grows(0.0015, 0.0006)]))).toBeNull();
    // 0.0006 x 12 m = 7.2 mm of a limit of 15 mm
    expect(rangeGrowth.advise(passFacts([grows(0.0006)]))).toBeNull();
    expect(rangeGrowth.advise(passFacts([pairFacts('a', 'b', { failing: true })]))).toBeNull();
  });
});

import { describe, expect, it } from 'vitest';
import { pointsAxesSwapped } from '../../../src/checks/advice/points-axes-swapped.js';

const CLOUD = [561_000, 5_932_000, 561_100, 5_932_050] as const;

describe('points-axes-swapped', () => {
  it('tells northings read as eastings', () => {
    const facts = { points: 4, surveyed: [5_932_010, 561_010, 5_932_040, 561_090] as const, cloud: CLOUD };
    const advice = pointsAxesSwapped.advise(facts)!;
    expect(advice.text).toContain('change places');
    // 5371 km east and as much south
    expect(advice.text).toContain('7595');
  });

  it('is quiet at the cloud, beside it, and where the change does not help', () => {
    expect(pointsAxesSwapped.advise({ points: 4, surveyed: CLOUD, cloud: CLOUD })).toBeNull();
    const square = [0, 0, 10, 10] as const;
    expect(pointsAxesSwapped.advise({ points: 4, surveyed: square, cloud: square })).toBeNull();
    const far = [5_000_000, 561_010, 5_000_100, 561_090] as const;
    expect(pointsAxesSwapped.advise({ points: 4, surveyed: far, cloud: CLOUD })).toBeNull();
  });
});

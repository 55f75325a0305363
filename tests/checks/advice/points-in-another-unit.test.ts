import { describe, expect, it } from 'vitest';
import { pointsInAnotherUnit } from '../../../src/checks/advice/points-in-another-unit.js';

const CLOUD = [561_000, 5_932_000, 561_100, 5_932_050] as const;
const scaled = (by: number) => CLOUD.map((v) => v * by) as [number, number, number, number];

describe('points-in-another-unit', () => {
  it('tells the ratio that brings the points to the cloud', () => {
    const feet = pointsInAnotherUnit.advise({ points: 9, surveyed: scaled(1 / 0.3048), cloud: CLOUD })!;
    expect(feet.text).toContain('as if the points file held feet');
    expect(feet.figures.ratio.value).toBe(0.3048);
    const metres = pointsInAnotherUnit.advise({ points: 9, surveyed: scaled(0.3048), cloud: CLOUD })!;
    expect(metres.text).toContain('held metres and the cloud feet');
    // US survey feet: 12 m off at 6000 km, which still lies within a hundred metres.
    const survey = pointsInAnotherUnit.advise({ points: 9, surveyed: scaled(3937 / 1200), cloud: CLOUD })!;
    expect(survey.figures.ratio.value).toBe(0.3048);
    expect(pointsInAnotherUnit.advise({ points: 9, surveyed: scaled(1000), cloud: CLOUD })!.text).toContain(
      'millimetres',
    );
  });

  it('is quiet at the cloud, and where no unit helps', () => {
    expect(pointsInAnotherUnit.advise({ points: 9, surveyed: CLOUD, cloud: CLOUD })).toBeNull();
    expect(pointsInAnotherUnit.advise({ points: 9, surveyed: scaled(0.9996), cloud: CLOUD })).toBeNull();
    expect(pointsInAnotherUnit.advise({ points: 9, surveyed: scaled(0.3), cloud: CLOUD })).toBeNull();
  });
});

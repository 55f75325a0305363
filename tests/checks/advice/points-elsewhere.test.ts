import { describe, expect, it } from 'vitest';
import { pointsElsewhere } from '../../../src/checks/advice/points-elsewhere.js';
import { placementFacts } from '../../../src/checks/advice/survey-facts.js';
import { fileOf } from '../judge.js';

const CLOUD = [561_000, 5_932_000, 561_100, 5_932_050] as const;

describe('points-elsewhere', () => {
  it('tells how far away the points lie', () => {
    const advice = pointsElsewhere.advise({
      points: 5,
      surveyed: [166_000, 5_936_000, 166_100, 5_936_050],
      cloud: CLOUD,
    })!;
    expect(advice.text).toContain('The points lie 395.0 km from the cloud');
    expect(advice.figures.distance.value).toBeCloseTo(Math.hypot(395_000, 4_000), 6);
  });

  it('is quiet at the cloud, and where a unit or the order of axes explains it', () => {
    expect(pointsElsewhere.advise({ points: 5, surveyed: CLOUD, cloud: CLOUD })).toBeNull();
    const feet = CLOUD.map((v) => v / 0.3048) as [number, number, number, number];
    expect(pointsElsewhere.advise({ points: 5, surveyed: feet, cloud: CLOUD })).toBeNull();
    expect(
      pointsElsewhere.advise({ points: 5, surveyed: [5_932_010, 561_010, 5_932_040, 561_090], cloud: CLOUD }),
    ).toBeNull();
  });

  it('its facts are in metres, whatever the unit of the files, and leave out files that could not be read', () => {
    const feet = {
      ...fileOf('a.las', 0, { header: { min: [100, 200, 0], max: [1100, 1200, 9] } }),
      horizontalUnit: 0.3048,
    };
    const broken = { ...fileOf('b.las', 1), header: null };
    const facts = placementFacts(
      [
        { x: 1, y: 2 },
        { x: 0, y: 5 },
      ],
      { files: [feet, broken] },
    )!;
    expect(facts.surveyed).toEqual([0, 2, 1, 5]);
    [30.48, 60.96, 335.28, 365.76].forEach((v, i) => {
      expect(facts.cloud[i]).toBeCloseTo(v, 9);
    });
    expect(placementFacts([{ x: 1, y: 2 }], { files: [broken] })).toBeNull();
  });
});

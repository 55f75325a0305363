import { describe, expect, it } from 'vitest';
import { type Neighbourhood, surveyNeighbourhoods } from '../../src/measure/survey-neighbourhoods.js';
import { measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

const place = { x: ORIGIN[0] + 10, y: ORIGIN[1] - 5, z: 2 };
const params = { points: [place], radius: 1, classes: null as number[] | null, most: 100 };

const around: TestPoint[] = [
  { x: 10.5, y: -5, z: 2.25, source: 1 },
  { x: 10, y: -4, z: 1.5, source: 2 },
  { x: 11, y: -5, z: 2, source: 1 },
  // Not within 1 m: just outside, and in a corner of the square around the circle.
  { x: 11.0001, y: -5, z: 2, source: 1 },
  { x: 10.8, y: -4.2, z: 2, source: 1 },
  // Noise and withheld.
  { x: 10, y: -5, z: 2, source: 1, class: 7 },
  { x: 10, y: -5, z: 2, source: 1, class: 18 },
  { x: 10, y: -5, z: 2, source: 1, flags: 4 },
];

const rowsOf = (found: Neighbourhood[]) =>
  found.map(({ point, pass, total, dx, dy, dz }) => ({
    point,
    pass,
    total,
    offsets: [...dx].map((x, i) => [x, dy[i], dz[i]]).sort((p, q) => p[0] - q[0]),
  }));

describe('survey neighbourhoods', () => {
  const expected = [
    {
      point: 0,
      pass: 1,
      total: 2,
      offsets: [
        [0.5, 0, 0.25],
        [1, 0, 0],
      ],
    },
    { point: 0, pass: 2, total: 1, offsets: [[0, 1, -0.5]] },
  ];

  it('hold the points within the radius, edge included, pass by pass, as offsets from the surveyed place', () => {
    const whole = measureFiles(surveyNeighbourhoods, params, [around], 3) as Neighbourhood[];
    expect(rowsOf(whole)).toEqual(expected);
    expect(whole.map(({ ceiling }) => ceiling)).toEqual([null, null]);
    expect(measureMerged(surveyNeighbourhoods, params, [around])).toEqual(whole);
  });

  it('hold the classes that were asked for and no others, noise as well if it was', () => {
    const ofClass = (classes: number[]) =>
      (measureFiles(surveyNeighbourhoods, { ...params, classes }, [around]) as Neighbourhood[]).map((n) => n.total);
    expect(ofClass([7])).toEqual([1]);
    expect(ofClass([0])).toEqual([2, 1]);
    expect(ofClass([2])).toEqual([]);
  });

  it('count every point but keep no more than asked, the same ones in any order', () => {
    const many = Array.from({ length: 500 }, (_, k): TestPoint => ({ x: 9.5 + k / 1000, y: -5, z: 2 }));
    const few = { ...params, most: 20 };
    const [whole] = measureFiles(surveyNeighbourhoods, few, [many], 500) as Neighbourhood[];
    expect([whole.total, whole.dx.length]).toEqual([500, 20]);
    expect(whole.ceiling).toBe(whole.hash[19]);
    expect([...whole.hash]).toEqual([...whole.hash].sort((a, b) => a - b));
    expect(measureMerged(surveyNeighbourhoods, few, [[...many].reverse()], 30)).toEqual([whole]);
  });

  it('are the same for few places and for many, which are looked up by cell', () => {
    const nine = Array.from({ length: 9 }, (_, k) => ({ ...place, x: place.x + 0.01 * k }));
    const found = measureFiles(surveyNeighbourhoods, { ...params, points: nine }, [around]) as Neighbourhood[];
    expect(rowsOf(found.filter(({ point }) => point === 0))).toEqual(expected);
    // 8 cm farther east the point at x = 11.0001 is within 1 m as well, and so is the one at 10.8.
    expect(found.find(({ point, pass }) => point === 8 && pass === 1)!.total).toBe(3);
  });

  it('are empty without points', () => {
    expect(measureFiles(surveyNeighbourhoods, params, [])).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import { eachPlace, type LocationNeighbourhoods } from '../../src/measure/survey/location-neighbourhoods.js';
import { type Neighbourhood, surveyNeighbourhoods } from '../../src/measure/survey-neighbourhoods.js';
import { batchOf, measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

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

const allOf = (found: unknown) => (found as LocationNeighbourhoods).all();

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
    const whole = allOf(measureFiles(surveyNeighbourhoods, params, [around], 3));
    expect(rowsOf(whole)).toEqual(expected);
    expect(whole.map(({ ceiling }) => ceiling)).toEqual([null, null]);
    expect(allOf(measureMerged(surveyNeighbourhoods, params, [around]))).toEqual(whole);
  });

  it('hold the classes that were asked for and no others, noise as well if it was', () => {
    const ofClass = (classes: number[]) =>
      allOf(measureFiles(surveyNeighbourhoods, { ...params, classes }, [around])).map((n) => n.total);
    expect(ofClass([7])).toEqual([1]);
    expect(ofClass([0])).toEqual([2, 1]);
    expect(ofClass([2])).toEqual([]);
  });

  it('count every point but keep no more than asked, the same ones in any order', () => {
    const many = Array.from({ length: 500 }, (_, k): TestPoint => ({ x: 9.5 + k / 1000, y: -5, z: 2 }));
    const few = { ...params, most: 20 };
    const [whole] = allOf(measureFiles(surveyNeighbourhoods, few, [many], 500));
    expect([whole.total, whole.dx.length]).toEqual([500, 20]);
    expect(whole.ceiling).toBe(whole.hash[19]);
    expect([...whole.hash]).toEqual([...whole.hash].sort((a, b) => a - b));
    expect(allOf(measureMerged(surveyNeighbourhoods, few, [[...many].reverse()], 30))).toEqual([whole]);
  });

  it('are the same for few places and for many, which are looked up by cell', () => {
    const nine = Array.from({ length: 9 }, (_, k) => ({ ...place, x: place.x + 0.01 * k }));
    const found = allOf(measureFiles(surveyNeighbourhoods, { ...params, points: nine }, [around]));
    expect(rowsOf(found.filter(({ point }) => point === 0))).toEqual(expected);
    // 8 cm farther east the point at x = 11.0001 is within 1 m as well, and so is the one at 10.8.
    expect(found.find(({ point, pass }) => point === 8 && pass === 1)!.total).toBe(3);
  });

  it('are kept and computed once for many survey points at one place, each with its own digits', () => {
    const finer = { ...place, x: place.x + 2e-5 };
    const points = [...Array.from({ length: 3000 }, () => ({ ...place })), finer];
    const state = surveyNeighbourhoods.create({ ...params, points });
    surveyNeighbourhoods.add(state, batchOf(around));
    // Two passes.
    expect(state.samples).toHaveLength(2);
    const found = surveyNeighbourhoods.finish(state, { ...params, points });
    let computed = 0;
    const rows = eachPlace(found, (passes) => {
      computed++;
      return passes.map(({ dx }) => dx[0]);
    });
    expect(computed).toBe(2);
    expect(rows).toHaveLength(3001);
    expect(rows[2999]).toBe(rows[0]);
    expect(rows[3000][1]).toBeCloseTo(rows[0][1] - 2e-5, 9);
    expect(rowsOf(found.of(2999))).toEqual(expected.map((row) => ({ ...row, point: 2999 })));
  });

  it('are empty without points', () => {
    expect(allOf(measureFiles(surveyNeighbourhoods, params, []))).toEqual([]);
  });
});

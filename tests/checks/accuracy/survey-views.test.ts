import { expect, test } from 'vitest';
import {
  choosePoints,
  residualHistogram,
  SECTIONS_SHOWN,
  surveySections,
} from '../../../src/checks/accuracy/survey-views.js';
import { verticalAccuracy } from '../../../src/checks/vertical-accuracy.js';
import { deliveryOf, judge, noSamples, surveyPoint } from '../judge.js';

const sample = {
  found: 3,
  passes: [1, 3],
  dx: Float64Array.of(0.1, 0.2, -0.1),
  dy: Float64Array.of(0, 0, 0),
  dz: Float64Array.of(0.01, 0.02, 0.03),
  pass: Uint8Array.of(0, 1, 1),
  plane: null,
};
const nothing = { ...sample, found: 0, passes: [], dx: new Float64Array(0) };

test('a section for every survey point that met the cloud, with the names of its passes', () => {
  const points = [surveyPoint('A', { x: 5, y: 6, z: 7 }), surveyPoint('B')];
  const drawn = points.map((point, index) => ({ point, index, size: null, found: index === 0 ? 3 : 0 }));
  const sections = surveySections(drawn, { at: (i) => [sample, nothing][i] }, 0.5, deliveryOf());
  expect(sections).toHaveLength(1);
  expect(sections[0]).toMatchObject({
    surveyPoint: 'A',
    x: 5,
    y: 6,
    z: 7,
    radius: 0.5,
    found: 3,
    passes: ['source 1', 'source 3'],
  });
});

test('classes of half a standard deviation hold every value once', () => {
  const values = [-0.93, -0.22, -0.13, 0.02, 0.11, 0.23, 0.34, 4];
  const [histogram] = residualHistogram('h', 'm', values, { mean: 0, std: 0.2, nmad: 0.2 });
  expect(histogram.counts.reduce((a, b) => a + b, 0)).toBe(values.length);
  expect(histogram.edges).toHaveLength(histogram.counts.length + 1);
  expect(histogram.edges[1] - histogram.edges[0]).toBeCloseTo(0.1, 12);
  values.slice(0, 7).forEach((v) => {
    const at = histogram.edges.findIndex((edge) => edge > v) - 1;
    expect(histogram.counts[at]).toBeGreaterThan(0);
  });
  expect(histogram.counts[histogram.counts.length - 1]).toBe(1);
  expect(residualHistogram('h', 'm', [1, 1, 1, 1, 1, 1], { mean: 1, std: 0, nmad: 0 })).toEqual([]);
});

test('residuals name who is used, who is control, who is a blunder', () => {
  const dz = [...Array.from({ length: 30 }, (_, k) => (k % 2 ? 0.003 : -0.003)), 0.5, 0.001];
  const points = dz.map((_, k) => surveyPoint(`P${k}`, k === 31 ? { role: 'control' } : {}));
  const heights = dz.map((v) => ({ dz: v, found: 40, used: 40, reason: null, perPass: [] }));
  const { evidence } = judge(
    verticalAccuracy,
    { maxRmse: 0.02 },
    { heights, samples: noSamples },
    { surveyPoints: points },
  );
  const residuals = evidence.find((e) => e.kind === 'residuals');
  if (!residuals?.interval) throw new Error('no residuals');
  expect(residuals.items.map((item) => item.group)).toEqual([
    ...new Array<string>(30).fill('used'),
    'blunder',
    'control',
  ]);
  expect(residuals).toMatchObject({ limit: 0.02 });
  expect(residuals.rms).toBeCloseTo(0.003, 9);
  const [low, high] = residuals.interval;
  expect(low).toBeLessThan(0.003);
  expect(high).toBeGreaterThan(0.003);
});

test('of many survey points the worst and a spread of the others are drawn, of many at one place the worst alone', () => {
  // A line of points 1 m apart; the differences are largest in its middle.
  const line = Array.from({ length: 2000 }, (_, index) => {
    const size = Math.max(0, 100 - Math.abs(index - 1000));
    return { point: surveyPoint(`P${index}`, { x: index }), index, size, found: 9 };
  });
  const chosen = choosePoints(line);
  expect(chosen).toHaveLength(SECTIONS_SHOWN);
  expect(chosen.filter(({ size }) => size! >= 100 - SECTIONS_SHOWN / 4)).toHaveLength(SECTIONS_SHOWN / 2);
  // Thirty points spread over 2 km: no gap is much wider than a thirtieth of it, twice that at the most.
  const x = chosen.map(({ point }) => point.x);
  expect([x[0], x[x.length - 1]]).toEqual([0, 1999]);
  expect(Math.max(...x.slice(1).map((v, i) => v - x[i]))).toBeLessThan((2 * 2000) / 30);
  const heap = line.map((one) => ({ ...one, point: surveyPoint(one.point.id) }));
  expect(choosePoints(heap)).toHaveLength(SECTIONS_SHOWN / 2);
  let asked = 0;
  const samples = { at: () => ({ ...sample, asked: ++asked }) };
  expect(surveySections(line, samples, 0.5, deliveryOf())).toHaveLength(SECTIONS_SHOWN);
  expect(asked).toBe(SECTIONS_SHOWN);
});

test('many blunders are counted, and the largest of them are listed and named', () => {
  const dz = Array.from({ length: 1500 }, (_, k) => (k < 800 ? 0.001 : 1 + k / 1000));
  const points = dz.map((_, k) => surveyPoint(`P${k}`));
  const heights = dz.map((v) => ({ dz: v, found: 40, used: 40, reason: null, perPass: [] }));
  const found = judge(verticalAccuracy, { maxRmse: 0.02 }, { heights, samples: noSamples }, { surveyPoints: points });
  expect(found.measured.blunders.value).toBe(700);
  const listed = found.evidence.find((e) => e.kind === 'locations' && e.title.startsWith('Blunders'));
  if (listed?.kind !== 'locations') throw new Error('no blunders');
  expect(listed.title).toBe('Blunders: 500 of 700');
  expect(listed.items).toHaveLength(500);
  expect(listed.items[0].note).toMatch(/^P1499:/);
  expect(found.summary).toContain('700 blunders (P800, ');
  expect(found.summary).toContain(' and 680 more)');
});

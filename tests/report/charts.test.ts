import { describe, expect, test } from 'vitest';
import { histogramChart, limitBar } from '../../src/report/html/charts.js';
import { passSection } from '../../src/report/html/pass-section.js';
import { residualChart } from '../../src/report/html/residuals.js';
import { colourOf, sectionCard } from '../../src/report/html/sections.js';
import { seriesChart } from '../../src/report/html/series.js';
import type { ResidualResult, SectionResult, SeriesResult } from '../../src/report/model.js';
import { encodeSectionPoints } from '../../src/report/section-code.js';
import { type Element, everyElement, readMarkup } from './markup-reader.js';
import { quayRoad } from './sample.js';

// Where things stand on a drawing follows from proportion alone: the scale is read off the drawing's own ticks.
const read = (html: string): Element[] => everyElement(readMarkup(`<div>${html}</div>`, 'html'));
const ofClass = (all: Element[], name: string) =>
  all.filter((e) => (e.attributes.class ?? '').split(' ').includes(name));
const number = (element: Element, name: string) => Number(element.attributes[name]);

/** From a height on the drawing to the value there, by two labelled grid lines. */
function scaleOf(all: Element[]): (y: number) => number {
  const labels = all.filter(
    (e) => e.tag === 'text' && e.attributes.class === 'n' && e.attributes['text-anchor'] === 'end',
  );
  const points = labels.map((e) => ({ y: number(e, 'y') - 4, value: Number(e.text.replace(/,/g, '')) }));
  const [a, b] = [points[0], points[points.length - 1]];
  return (y) => a.value + ((y - a.y) / (b.y - a.y)) * (b.value - a.value);
}

const residuals: ResidualResult = {
  title: 'Height residuals',
  unit: 'm',
  items: [
    { label: 'A', value: 0.01, group: 'used' },
    { label: 'B', value: -0.02, group: 'used' },
    { label: 'C', value: 0.5, group: 'blunder' },
    { label: 'D', value: 0.005, group: 'control' },
  ],
  mean: -0.005,
  rms: 0.0158,
  interval: [0.01, 0.025],
  limit: 0.02,
};

describe('residuals', () => {
  const all = read(residualChart(residuals).html);
  const valueAt = scaleOf(all);

  test('stems end at their values, shapes tell what they are', () => {
    const ends = ofClass(all, 'stem').map((e) => valueAt(number(e, 'y2')));
    expect(ends[0]).toBeCloseTo(10, 0);
    expect(ends[1]).toBeCloseTo(-20, 0);
    expect(ends[3]).toBeCloseTo(5, 0);
    expect(ofClass(all, 'shape').map((e) => e.tag)).toEqual(['circle', 'circle', 'path', 'rect']);
  });

  test('a blunder does not squeeze the others: it is drawn at the edge with its size', () => {
    expect(valueAt(number(ofClass(all, 'stem')[2], 'y2'))).toBeLessThan(60);
    expect(all.some((e) => e.tag === 'text' && e.text === '+500.0, off the scale')).toBe(true);
  });

  test('limit, mean and interval stand where their numbers are, on both sides of zero', () => {
    const heights = (name: string) => ofClass(all, name).map((e) => Math.round(valueAt(number(e, 'y1'))));
    expect(heights('limit-line').sort((a, b) => a - b)).toEqual([-20, 20]);
    expect(heights('mean-line')).toEqual([-5]);
    expect(heights('rms-line').sort((a, b) => a - b)).toEqual([-16, 16]);
    const bands = ofClass(all, 'band').map((e) => [
      Math.round(valueAt(number(e, 'y'))),
      Math.round(valueAt(number(e, 'y') + number(e, 'height'))),
    ]);
    expect(bands).toEqual([
      [25, 10],
      [-10, -25],
    ]);
  });

  test('names at the lines never meet', () => {
    const names = all.filter((e) => e.tag === 'text' && ['limit', 'mean', 'RMS'].includes(e.text));
    const heights = names.map((e) => number(e, 'y')).sort((a, b) => a - b);
    for (let i = 1; i < heights.length; i++) expect(heights[i] - heights[i - 1]).toBeGreaterThanOrEqual(14);
  });

  test('nothing to draw is nothing drawn', () => {
    expect(residualChart({ ...residuals, items: [] }).html).toBe('');
    expect(residualChart({ ...residuals, mean: null, rms: null, interval: null, limit: null }).html).not.toContain(
      'NaN',
    );
  });
});

describe('histogram', () => {
  const normal = { mean: 0.01, std: 0.01, nmad: 0.005 };
  const edges = [-0.02, -0.01, 0, 0.01, 0.02, 0.03, 0.04];
  const chart = {
    title: 'h',
    unit: 'm',
    edges,
    counts: [1, 4, 14, 14, 4, 1],
    normal,
    limit: 0.02,
    sense: 'at-most',
  } as const;
  const all = read(histogramChart({ ...chart, edges: [...edges], counts: [...chart.counts] }).html);

  test('the normal curve peaks at the mean, as high as its definition says: n w / (s sqrt(2 pi))', () => {
    const [curve] = ofClass(all, 'of-std');
    const places = [...(curve.attributes.d ?? '').matchAll(/[ML]([\d.]+) ([\d.]+)/g)].map(([, x, y]) => [+x, +y]);
    const top = places.reduce((best, place) => (place[1] < best[1] ? place : best));
    const valueAt = scaleOf(all);
    expect(valueAt(top[1])).toBeCloseTo((38 * 0.01) / (0.01 * Math.sqrt(2 * Math.PI)), 0);
    const [first, last] = [places[0][0], places[places.length - 1][0]];
    expect((top[0] - first) / (last - first)).toBeCloseTo(0.5, 1);
  });

  test('the limit is an upright line at its value', () => {
    const [line] = ofClass(all, 'limit-line');
    const bars = ofClass(all, 'bar');
    const left = number(bars[0], 'x') - 0.5;
    const right = number(bars[5], 'x') + number(bars[5], 'width') + 0.5;
    expect((number(line, 'x1') - left) / (right - left)).toBeCloseTo(4 / 6, 2);
  });
});

describe('series', () => {
  const series: SeriesResult = {
    title: 'dz along GPS time',
    unit: 'm',
    along: { title: 'GPS time', unit: 's' },
    lines: [
      { name: 'a', x: [100, 110, 120, 130], y: [0.01, null, -0.01, 0.02] },
      { name: 'empty', x: [100], y: [null] },
    ],
    limit: 0.015,
  };
  const all = read(seriesChart(series, () => 3).html);

  test('points stand at their values, a missing one interrupts the line', () => {
    const valueAt = scaleOf(all);
    const dots = ofClass(all, 'dot');
    expect(dots.map((e) => Math.round(valueAt(number(e, 'cy'))))).toEqual([10, -10, 20]);
    expect(ofClass(all, 'line')[0].attributes.d?.match(/M/g)).toHaveLength(2);
    const x = dots.map((e) => number(e, 'cx'));
    expect((x[1] - x[0]) / (x[2] - x[0])).toBeCloseTo(2 / 3, 2);
    const limits = ofClass(all, 'limit-line').map((e) => Math.round(valueAt(number(e, 'y1'))));
    expect(limits).toEqual([15, -15]);
  });

  test('a line without a value is not drawn, and no lines are no chart', () => {
    expect(ofClass(all, 'line')).toHaveLength(1);
    expect(seriesChart({ ...series, lines: [series.lines[1]] }, () => 0).html).toBe('');
  });
});

describe('close-ups', () => {
  const report = quayRoad();
  const section: SectionResult = {
    title: 'CP05',
    surveyPoint: 'CP05',
    x: 1,
    y: 2,
    z: 3,
    reach: 0.5,
    plane: { height: 0.03, slopeX: 0, slopeY: 0.1 },
    passes: ['source 12', 'source 11'],
    found: 500,
    points: 3,
    data: encodeSectionPoints({
      dx: Float64Array.of(0, 0.5, 0),
      dy: Float64Array.of(0.5, 0, -0.5),
      dz: Float64Array.of(0.08, 0.03, -0.02),
      pass: Uint8Array.of(0, 1, 0),
    }),
  };
  const all = read(sectionCard(section, report).html);
  const dotsOf = (element: Element) =>
    [...(element.attributes.d ?? '').matchAll(/M([\d.]+) ([\d.]+)h0/g)].map(([, x, y]) => [+x, +y]);

  test('the plan has north up, the cut runs along the steepest slope', () => {
    const [plan] = all.filter((e) => e.tag === 'svg');
    const inPlan = everyElement(plan);
    const [first, second] = ofClass(inPlan, 'dots').map(dotsOf);
    const middle = number(ofClass(inPlan, 'grid')[0], 'cx');
    expect(first[0][0]).toBeCloseTo(middle, 0);
    expect(first[0][1]).toBeLessThan(middle - 50);
    expect(second[0][0]).toBeGreaterThan(middle + 50);
    const [cut] = ofClass(inPlan, 'cut');
    expect(number(cut, 'x1')).toBeCloseTo(number(cut, 'x2'), 1);
  });

  test('in the cut, points and plane stand at their heights, the mark at zero, the residual between', () => {
    const [, cut] = all.filter((e) => e.tag === 'svg');
    const inCut = everyElement(cut);
    const valueAt = scaleOf(inCut);
    const [ofTwelve, ofEleven] = ofClass(inCut, 'dots').map(dotsOf);
    // the highest and lowest points lie on the plane's ends
    expect(ofTwelve.map(([, y]) => Math.round(valueAt(y)))).toEqual([80, -20]);
    expect(ofEleven.map(([, y]) => Math.round(valueAt(y)))).toEqual([30]);
    const [plane] = ofClass(inCut, 'plane');
    expect([number(plane, 'y1'), number(plane, 'y2')].map((y) => Math.round(valueAt(y)))).toEqual([-20, 80]);
    const [residual] = ofClass(inCut, 'residual');
    expect([number(residual, 'y1'), number(residual, 'y2')].map((y) => Math.round(valueAt(y)))).toEqual([0, 30]);
  });

  test('passes keep their colour on every drawing and are named with their own residual', () => {
    expect(colourOf(report, 'source 12')).toBe(1);
    expect(ofClass(all, 'dots').map((e) => e.attributes.class)).toEqual([
      'dots pass-1',
      'dots pass-0',
      'dots pass-1',
      'dots pass-0',
    ]);
    const legend = all.find((e) => e.attributes.class === 'legend');
    expect(legend?.text).toMatch(/● source 12 [+-][\d.]+ mm/);
    expect(legend?.text).toContain('3 of 500 points within 500 mm drawn');
  });
});

test('the side on which a figure is good lies below the limit for the most, above it for the least allowed', () => {
  const pair = {
    name: 'share',
    label: 'share',
    unit: 'share',
    measured: 0.9,
    limit: 0.98,
    measuredText: '90 %',
    limitText: '98 %',
  };
  const side = (sense: 'at-most' | 'at-least' | null) => {
    const all = read(limitBar({ ...pair, sense }, 'bad').html);
    const limit = number(ofClass(all, 'limit')[0], 'x1');
    return ofClass(all, 'allowed').map((e) => Math.sign(number(e, 'x') + number(e, 'width') / 2 - limit));
  };
  expect(side('at-most')).toEqual([-1]);
  expect(side('at-least')).toEqual([1]);
  expect(side(null)).toEqual([]);
});

test('the matrix of passes has every pair twice: its shift below the diagonal, its RMS above', () => {
  const all = read(passSection(quayRoad()).html);
  const matrix = all.find((e) => e.attributes.class === 'matrix');
  const rows = everyElement(matrix as Element)
    .filter((e) => e.tag === 'tr')
    .slice(1);
  const kinds = rows.map((row) =>
    row.children.slice(1).map((cell) => (cell.children[0]?.tag === 'svg' ? 'shift' : cell.text || 'self')),
  );
  expect(kinds).toEqual([
    ['self', '18.3 mm', '5.9 mm'],
    ['shift', 'self', '–'],
    ['shift', 'shift', 'self'],
  ]);
});

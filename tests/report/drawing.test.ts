import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { axis, roundStep } from '../../src/report/html/axis.js';
import { histogramChart, limitBar } from '../../src/report/html/charts.js';
import { divergingColour } from '../../src/report/html/colours.js';
import { residualPlot } from '../../src/report/html/survey-section.js';
import { everyElement, readMarkup } from './markup-reader.js';
import { quayRoad } from './sample.js';

// Expected values follow from the definitions of a linear scale and of proportion; the 1, 2, 5 steps are common practice.
describe('axis', () => {
  test('steps are 1, 2 or 5 times a power of ten, and never smaller than asked', () => {
    expect([0.7, 1, 1.2, 3, 6, 0.03, 480].map(roundStep)).toEqual([1, 1, 2, 5, 10, 0.05, 500]);
  });

  test('covers what it shows, ticks rise evenly from end to end', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, noNaN: true }),
        fc.double({ min: 1e-3, max: 1e6, noNaN: true }),
        (low, span) => {
          const scale = axis(low, low + span, 200, 20);
          expect(scale.low).toBeLessThanOrEqual(low + span * 1e-6);
          expect(scale.high).toBeGreaterThanOrEqual(low + span * (1 - 1e-6));
          expect(scale.at(scale.low)).toBeCloseTo(200, 6);
          expect(scale.at(scale.high)).toBeCloseTo(20, 6);
          expect(scale.ticks.length).toBeGreaterThanOrEqual(2);
          expect(scale.ticks.length).toBeLessThanOrEqual(12);
          expect(scale.ticks[0]).toBeCloseTo(scale.low, 6);
          expect(scale.ticks[scale.ticks.length - 1]).toBeCloseTo(scale.high, 6);
        },
      ),
      { seed: 3, numRuns: 500 },
    );
  });

  test('one value alone still gives an axis', () => {
    expect(axis(0, 0, 0, 100).ticks.length).toBeGreaterThanOrEqual(2);
  });
});

describe('drawings', () => {
  const pair = {
    name: 'rmse',
    label: 'RMSE',
    unit: 'm',
    measured: 0.01,
    limit: 0.02,
    measuredText: '10.0 mm',
    sense: 'at-most' as const,
    limitText: '20.0 mm',
  };
  const partsOf = (html: string, name: string) =>
    everyElement(readMarkup(html, 'html')).filter((element) => element.attributes.class === name);

  test('a bar is to its limit as the figure is to the limit', () => {
    const html = limitBar(pair, 'good').html;
    const fill = Number(partsOf(html, 'fill')[0].attributes.width);
    const limit = Number(partsOf(html, 'limit')[0].attributes.x1);
    expect(fill / limit).toBeCloseTo(0.5, 1);
    expect(readMarkup(html, 'html').attributes['aria-label']).toBe('RMSE: 10.0 mm; required: at most 20.0 mm');
    expect(limitBar({ ...pair, measured: null }, 'open').html).toBe('');
    expect(limitBar({ ...pair, measured: 0, limit: 0 }, 'good').html).not.toContain('NaN');
  });

  test('histogram bars are as high as their counts, and an empty class has none', () => {
    const html = histogramChart({
      title: 'h',
      unit: 'm',
      edges: [0, 1, 2, 3],
      counts: [10, 0, 5],
      normal: null,
      limit: null,
      sense: null,
    }).html;
    const heights = partsOf(html, 'bar').map((bar) => Number(bar.attributes.height));
    expect(heights).toHaveLength(2);
    expect(heights[0] / heights[1]).toBeCloseTo(2, 1);
  });

  test('colours: grey at zero, blue below, orange above, full at the end and beyond', () => {
    const channels = (colour: string) => [1, 3, 5].map((i) => Number.parseInt(colour.slice(i, i + 2), 16));
    const [redBelow, , blueBelow] = channels(divergingColour(-0.02, 0.02));
    const [redAbove, , blueAbove] = channels(divergingColour(0.02, 0.02));
    expect(blueBelow).toBeGreaterThan(redBelow);
    expect(redAbove).toBeGreaterThan(blueAbove);
    expect(divergingColour(0, 0.02)).toBe(divergingColour(0, 0));
    expect(divergingColour(9, 0.02)).toBe(divergingColour(0.02, 0.02));
  });

  test('a blunder does not flatten the other residuals: it is drawn at the edge with its value', () => {
    const html = residualPlot(quayRoad().surveyPoints).html;
    const blunder = quayRoad().surveyPoints.find((point) => point.status === 'blunder');
    expect(html).toContain(`+${((blunder?.dz as number) * 1000).toFixed(1)}, off the scale`);
    const heights = everyElement(readMarkup(html, 'html'))
      .filter((element) => element.tag === 'circle')
      .map((circle) => Number(circle.attributes.cy));
    expect(Math.max(...heights) - Math.min(...heights)).toBeGreaterThan(100);
  });
});

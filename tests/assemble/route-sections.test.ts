import { describe, expect, it } from 'vitest';
import { routeSections, routeSeries } from '../../src/assemble/route-sections.js';
import { stationsOf } from '../../src/assemble/stationing.js';
import type { Verdict } from '../../src/checks/contract/check.js';
import type { PlacedValues } from '../../src/checks/contract/placed-values.js';
import type { Route } from '../../src/delivery/route.js';
import { csvFiles } from '../../src/report/csv.js';
import { reportHtml } from '../../src/report/html.js';
import { quayRoad } from '../report/sample.js';

/** A line due north of 250 m from station 3+250, so that its sections are 50, 100 and 100 m long. */
const route: Route = {
  notation: '3+250',
  metresPerUnit: 1,
  notes: [],
  lines: [
    {
      name: 'Axis',
      x: Float64Array.of(0, 0),
      y: Float64Array.of(0, 250),
      distance: Float64Array.of(0, 250),
      startStation: 3250,
      equations: [],
      direction: 'both',
      lanes: 2,
      plannedPasses: null,
    },
  ],
};
const stations = stationsOf({ route, trajectory: null })!;

/** Cells of 1 m along the line from y0 to y1, with a value for each. */
function cells(y0: number, y1: number, value: (y: number) => number) {
  const rows = Array.from({ length: y1 - y0 }, (_, i) => y0 + i);
  return { places: { column: rows.map(() => 0), row: rows }, value: rows.map(value) };
}

const share = (sets: PlacedValues['sets'], more: Partial<PlacedValues> = {}): PlacedValues => ({
  kind: 'placed-values',
  title: 'share of cells covered',
  statistic: 'mean',
  unit: 'share',
  limit: 0.98,
  sense: 'at-least',
  cell: 1,
  sets,
  ...more,
});

const judgedAs = (state: Verdict['state'], ...evidence: Verdict['evidence']) => [
  { requirement: { id: 'R' }, verdict: { state, summary: '', measured: {}, limits: {}, evidence, advice: [] } },
];

const results = (state: Verdict['state'], values: PlacedValues, complete = true) =>
  routeSections(judgedAs(state, values), stations, 100, complete).map(({ result }) => result);

describe('sections of the route', () => {
  it('are cut at round stations, with the figure of their own values', () => {
    // Every tenth cell from 150 m on is bare: 10 % of the last section.
    const set = { name: 'cells', ...cells(0, 250, (y) => (y >= 150 && y % 10 === 0 ? 0 : 1)) };
    const rows = routeSections(judgedAs('fail', share([set])), stations, 100, true);
    expect(rows.map(({ from, to, result }) => `${from} to ${to} ${result}`)).toEqual([
      '3+250.0 to 3+300.0 met',
      '3+300.0 to 3+400.0 met',
      '3+400.0 to 3+500.0 not met',
    ]);
    expect(rows[2]).toMatchObject({
      requirement: 'R',
      line: 'Axis',
      count: 100,
      covered: 1,
      limit: 0.98,
      unit: 'share',
    });
    expect(rows[2].value).toBeCloseTo(0.9, 9);
  });

  it('are never met where the values do not cover them', () => {
    const most = { name: 'cells', ...cells(0, 200, () => 1) };
    expect(results('pass', share([most]))).toEqual(['met', 'met', 'not judged']);
    const [, , last] = routeSections(judgedAs('pass', share([most])), stations, 100, true);
    expect(last.value).toBe(1);
    expect(last.covered).toBe(0.5);
    const none = { name: 'cells', ...cells(400, 500, () => 1) };
    expect(results('pass', share([none]))).toEqual(['not judged', 'not judged', 'not judged']);
  });

  it('are not judged where the requirement was not judged or points were not read', () => {
    const all = { name: 'cells', ...cells(0, 250, () => 1) };
    expect(results('undetermined', share([all]))).toEqual(['not judged', 'not judged', 'not judged']);
    expect(results('pass', share([all]), false)).toEqual(['not judged', 'not judged', 'not judged']);
    const bare = { name: 'cells', ...cells(0, 250, () => 0) };
    expect(results('undetermined', share([bare]))).toEqual(['not judged', 'not judged', 'not judged']);
  });

  it('are as good as the worst of several sets, such as pairs of passes', () => {
    const good = { name: '1 and 2', ...cells(0, 250, () => 0.003) };
    const bad = { name: '1 and 3', ...cells(50, 150, (y) => (y % 2 ? 0.02 : -0.02)) };
    const rms = { title: 'RMS', statistic: 'rms', unit: 'm', limit: 0.01, sense: 'at-most' } as const;
    expect(results('fail', share([good, bad], rms))).toEqual(['met', 'not met', 'met']);
    const rows = routeSections(judgedAs('fail', share([good, bad], rms)), stations, 100, true);
    expect(rows[1].value).toBeCloseTo(0.02, 9);
    expect(rows[1].count).toBe(200);
  });

  it('take a survey point as evidence of its section alone', () => {
    const places = { x: [3, 3], y: [20, 210] };
    const points = share([{ name: 'dz', places, value: [0.01, -0.05] }], {
      statistic: 'rms',
      unit: 'm',
      limit: 0.02,
      sense: 'at-most',
      cell: 0,
    });
    expect(results('fail', points)).toEqual(['met', 'not judged', 'not met']);
    const [chart] = routeSeries(judgedAs('fail', points)[0].verdict, stations, 100);
    expect(chart.lines).toEqual([{ name: 'dz', x: [3270, 3460], y: [0.01, -0.05] }]);
    expect(chart.title).toBe('dz along Axis');
    expect(chart.along).toEqual({ title: 'station on Axis', unit: 'm' });
  });
});

describe('a report with sections', () => {
  const set = { name: 'cells', ...cells(0, 200, () => 1) };
  const judged = judgedAs('pass', share([set]));
  const plain = quayRoad();
  const report = {
    ...plain,
    stationing: {
      by: 'route' as const,
      sectionMetres: 100,
      lines: [
        { line: 'Axis', length: 250, from: '3+250.0', to: '3+500.0', direction: null, lanes: 2, plannedPasses: null },
      ],
    },
    sections: routeSections(judged, stations, 100, true),
    requirements: plain.requirements.map((r) => ({ ...r, series: routeSeries(judged[0].verdict, stations, 100) })),
  };

  it('has them as a table on the page and as sections.csv, with a chart that draws its limit once', () => {
    const html = reportHtml(report);
    expect(html).toContain('Requirements by section');
    expect(html).toContain('✓ met, 100.00 %');
    expect(html).toContain('- not judged, 100.00 %');
    expect(html).toContain('share of cells covered along Axis');
    const text = csvFiles(report).find(({ name }) => name === 'sections.csv')!.text;
    expect(text.split('\r\n')[3]).toBe(
      'R,Axis,3+400.0,3+500.0,150,250,not judged,1,0.98,at-least,share,share of cells covered,50,0.5',
    );
    expect(csvFiles(plain).some(({ name }) => name === 'sections.csv')).toBe(false);
  });
});

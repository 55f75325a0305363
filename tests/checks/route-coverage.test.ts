import { describe, expect, it } from 'vitest';
import { routeCoverage } from '../../src/checks/route-coverage.js';
import type { Route, RouteLine } from '../../src/delivery/route.js';
import type { Drive } from '../../src/delivery/trajectory.js';
import { deliveryOf, judge, requirementOf, squareZone } from './judge.js';
import { passCellsOf } from './pass-cells-of.js';

/** A line due east along y = 5 from x = 0 to 200, station 3+000 at its begin. */
function lineOf(more: Partial<RouteLine> = {}): RouteLine {
  return {
    name: 'Axis',
    x: Float64Array.of(0, 200),
    y: Float64Array.of(5, 5),
    distance: Float64Array.of(0, 200),
    startStation: 3000,
    equations: [],
    direction: null,
    lanes: null,
    plannedPasses: null,
    ...more,
  };
}

const routeOf = (...lines: RouteLine[]): Route => ({ lines, notation: '3+250', metresPerUnit: 1, notes: [] });

/** A drive along y = 5 from x = from to x = to, a position every metre. */
function driveOf(from: number, to: number): Drive {
  const n = Math.abs(to - from) + 1;
  const sense = Math.sign(to - from);
  return {
    name: 'drive',
    epochs: n,
    x: Float64Array.from({ length: n }, (_, i) => from + sense * i),
    y: new Float64Array(n).fill(5),
    time: Float64Array.from({ length: n }, (_, i) => i),
  } as Drive;
}

const all = passCellsOf(200, 10, () => [1, 2]);
const hole = passCellsOf(200, 10, (x) => (x >= 60 && x < 90 ? [] : x < 30 ? [1] : [1, 2]));

describe('route-coverage', () => {
  it('a route with points along all of it is covered', () => {
    const verdict = judge(routeCoverage, {}, { cells: all }, { route: routeOf(lineOf()) });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured).toMatchObject({ share: { value: 1 }, longestGap: { value: 0 }, planned: { value: 200 } });
  });

  it('names a missing stretch by its stations and length', () => {
    const verdict = judge(routeCoverage, { maxGap: 20 }, { cells: hole }, { route: routeOf(lineOf()) });
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.share.value).toBeCloseTo(0.85, 9);
    expect(verdict.measured.longestGap.value).toBeCloseTo(30, 9);
    const table = verdict.evidence.find((e) => e.kind === 'table' && e.title.startsWith('Stretches'));
    expect(table).toMatchObject({ rows: [['Axis', '3+060.0', '3+090.0', 30, 'no points']] });
    const [places] = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.items[0]).toMatchObject({ x: 75, y: 5, value: 30 });
  });

  it('accepts a gap that was agreed, or a stretch that was left out by stations', () => {
    const route = routeOf(lineOf());
    expect(judge(routeCoverage, { minShare: 0.8, maxGap: 30 }, { cells: hole }, { route }).state).toBe('pass');
    const leaveOut = [{ line: 'Axis', from: '3+060', to: '3+090' }];
    const verdict = judge(routeCoverage, { leaveOut }, { cells: hole }, { route });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.planned.value).toBeCloseTo(170, 9);
  });

  it.each([
    [{ line: 'Axis', from: '2+900', to: '3+090' }, /leaveOut, line Axis: the line has no such station/],
    [
      { line: 'Axis', from: '3+120', to: '3+010' },
      /the station occurs 2 times on the line .*70\.0 m and 120\.0 m from the begin/,
    ],
    [{ line: 'B', from: '3+000', to: '3+010' }, /the route has no line called B/],
    [{ line: 'Axis', from: 'x', to: '3+010' }, /this is not a station/],
  ])('refuses %j, and never picks a station', (stretch, message) => {
    const equations = [{ internal: 3100, back: 3100, ahead: 3050, increasing: true }];
    const line = lineOf({ equations, ...(stretch.from === '3+120' ? {} : { equations: [] }) });
    // 3+070 is 70 m along and, after the equation back to 3+050, 120 m along.
    const from = stretch.from === '3+120' ? '3+070' : stretch.from;
    const requirement = requirementOf({ check: 'route-coverage', leaveOut: [{ ...stretch, from }] });
    const context = { delivery: deliveryOf({ route: routeOf(line) }) };
    expect(() => routeCoverage.needs(requirement as never, context)).toThrow(message);
  });

  // Korean rules for HD road maps, article 14, as read in the standards notes: 3, 4, 6, 7 lanes need 1, 2, 2, 3 passes.
  it.each([
    [3, 1],
    [4, 2],
    [6, 2],
    [7, 3],
  ])('%d lanes with 3 lanes for a pass need %d', (lanes, passes) => {
    const route = routeOf(lineOf({ lanes }));
    const verdict = judge(routeCoverage, { passes: true, lanesPerPass: 3 }, { cells: all }, { route });
    expect(verdict.state).toBe(passes <= 2 ? 'pass' : 'fail');
    const table = verdict.evidence.find((e) => e.kind === 'table' && e.title.startsWith('Lines'));
    expect(table).toMatchObject({ rows: [['Axis', 200, 1, passes, 2, 2]] });
  });

  it('counts passes of the drives where there is a trajectory, twice for a drive forth and back', () => {
    const route = routeOf(lineOf({ plannedPasses: 2, direction: 'both' }));
    const forth = driveOf(-20, 220);
    const back = driveOf(220, -20);
    const once = { drives: [forth], notes: [] };
    const options = { passes: true, direction: true };
    const one = judge(routeCoverage, options, { cells: all }, { route, trajectory: once });
    expect(one.state).toBe('fail');
    expect(one.measured).toMatchObject({
      passShare: { value: 0 },
      directionShare: { value: 0 },
      drivenShare: { value: 1 },
    });
    const both = judge(
      routeCoverage,
      options,
      { cells: all },
      { route, trajectory: { drives: [forth, back], notes: [] } },
    );
    expect(both.state).toBe('pass');
  });

  it('tells a line that was driven against its direction', () => {
    const trajectory = { drives: [driveOf(220, -20)], notes: [] };
    const judged = (direction: RouteLine['direction']) =>
      judge(routeCoverage, { direction: true }, { cells: all }, { route: routeOf(lineOf({ direction })), trajectory })
        .state;
    expect(judged('along')).toBe('fail');
    expect(judged('against')).toBe('pass');
  });

  it('judges the part of the route in a zone', () => {
    const zones = [squareZone('lot 1', 100, 0, 200, 10)];
    const verdict = judge(routeCoverage, { zone: 'lot 1' }, { cells: hole }, { route: routeOf(lineOf()), zones });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.planned.value).toBeCloseTo(100, 9);
  });

  it('is undetermined without a route, planned passes or a trajectory that it needs', () => {
    expect(judge(routeCoverage, {}, { cells: all }).state).toBe('undetermined');
    const route = routeOf(lineOf());
    expect(judge(routeCoverage, { passes: true }, { cells: all }, { route }).state).toBe('undetermined');
    expect(judge(routeCoverage, { direction: true }, { cells: all }, { route }).state).toBe('undetermined');
  });
});

import { describe, expect, it } from 'vitest';
import type { Location } from '../../src/checks/contract/check.js';
import { edgeMatch } from '../../src/checks/edge-match.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { joinPoints, type SceneColumns, selectPoints } from '../../src/simulate/writer/point-columns.js';
import { deliveryOf, fileOf, judge, requirementOf, squareZone } from './judge.js';
import { measureFacts, moved } from './measured-scene.js';

const street = createStreet({ headingDegrees: 25, right: 'open' });
const cloud = scanToColumns({
  street,
  passes: usualDrives({ passes: 2, density: 250 }),
  from: -10,
  to: 10,
  noise: 0.004,
  seed: 8,
});
const BORDER = street.origin[0];

/** The street in two tiles, cut at an easting; `east` does something to the eastern one. */
function tiles(east: (points: SceneColumns) => SceneColumns, source = cloud, border = BORDER) {
  const west = selectPoints(source, (i) => source.x[i] < border);
  const beyond = east(selectPoints(source, (i) => source.x[i] >= border));
  const parts = [west, beyond];
  const files = parts.map((points, index) => {
    const of = (values: Float64Array) => values.subarray(0, points.count);
    const least = (values: Float64Array) => of(values).reduce((a, b) => Math.min(a, b));
    const most = (values: Float64Array) => of(values).reduce((a, b) => Math.max(a, b));
    const header = {
      pointCount: points.count,
      min: [least(points.x), least(points.y), least(points.z)],
      max: [most(points.x), most(points.y), most(points.z)],
    };
    return fileOf(`tile_${index}.las`, index, { header: header as never });
  });
  return { points: joinPoints(parts), files, first: west.count };
}

function check(
  options: Record<string, unknown>,
  { points, files, first }: ReturnType<typeof tiles>,
  zones = [] as never[],
) {
  const delivery = { files, zones };
  const requirement = requirementOf({ check: 'edge-match', ...options });
  const requests = edgeMatch.needs(requirement as never, { delivery: deliveryOf(delivery) });
  const measured = measureFacts(points, requests, { fileOf: (i) => (i < first ? 0 : 1) });
  return judge(edgeMatch, options, measured, delivery);
}

const same = (points: SceneColumns) => points;

describe('edge-match on a street cut into two tiles', () => {
  it('a street cut cleanly has no step and no slit', () => {
    const verdict = check({ maxStep: 0.003, maxGap: 0.15, minPoints: 10 }, tiles(same));
    expect(verdict.state).toBe('pass');
    expect(Math.abs(verdict.measured.step.value!)).toBeLessThan(0.0015);
    expect(verdict.measured.gap.value!).toBeLessThan(0.12);
    expect(verdict.measured.borders.value).toBe(1);
  });

  it('a tile raised by 12 mm in one pass shows as that step, in that pass', () => {
    const raise = (points: SceneColumns) => {
      const z = points.z.map((v, i) => (points.pointSourceId[i] === 2 ? v + 0.012 : v));
      return { ...points, z };
    };
    const verdict = check({ maxStep: 0.006, minPoints: 10 }, tiles(raise));
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('source 2 from tile_0.las to tile_1.las: step of +');
    expect(verdict.summary).not.toContain('crossings exceed');
    expect(Math.abs(verdict.measured.step.value! - 0.012)).toBeLessThan(0.001);
    const places = (verdict.evidence[0] as { items: Location[] }).items;
    for (const place of places) expect(Math.abs(place.x - BORDER)).toBeLessThan(0.2);
  });

  it('a tile cut 0.4 m short shows as a slit of 0.4 m and the usual spacing', () => {
    const short = (points: SceneColumns) => selectPoints(points, (i) => points.x[i] >= BORDER + 0.4);
    const plain = check({ maxGap: 0.3, minPoints: 10 }, tiles(same)).measured.gap.value!;
    const verdict = check({ maxGap: 0.3, minPoints: 10 }, tiles(short));
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.gap.value! - 0.4).toBeGreaterThan(-0.001);
    expect(Math.abs(verdict.measured.gap.value! - 0.4 - plain)).toBeLessThan(0.06);
    expect(verdict.advice[0]).toContain('same processing run');
  });

  it('a tile cut 3 m short is found with the usual strip of 1 m', () => {
    const short = (points: SceneColumns) => selectPoints(points, (i) => points.x[i] >= BORDER + 3);
    const verdict = check({ maxGap: 0.5, maxStep: 0.01, minPoints: 10 }, tiles(short));
    expect(verdict.state).toBe('fail');
    expect(Math.abs(verdict.measured.gap.value! - 3)).toBeLessThan(0.2);
  });

  it('a strip of 0.5 m missing along 6 m of the border is not passed over', () => {
    const [, y] = street.origin;
    const short = (points: SceneColumns) =>
      selectPoints(points, (i) => points.x[i] >= BORDER + 0.5 || Math.abs(points.y[i] - y) > 3);
    const verdict = check({ maxGap: 0.4, minPoints: 10 }, tiles(short));
    expect(verdict.state).toBe('undetermined');
    expect(verdict.measured.gap.value!).toBeLessThan(0.2);
    expect(verdict.measured.partGap.value!).toBeGreaterThan(0.5);
    expect(verdict.summary).toMatch(
      /but one of 5\d\d\.\d mm or more over 5\.000 m of the border, where points are missing/,
    );
  });

  it('moving the delivery changes the step by no more than 0.1 mm', () => {
    const raise = (points: SceneColumns) => moved(points, [0, 0, 0.009]);
    const here = check({ maxStep: 0.006, minPoints: 10 }, tiles(raise));
    // By whole cells along the border, so that the same points share a cell.
    const by = [-4321.7, 777, 13.37] as const;
    const there = check({ maxStep: 0.006, minPoints: 10 }, tiles(raise, moved(cloud, by), BORDER + by[0]));
    expect(Math.abs(here.measured.step.value! - there.measured.step.value!)).toBeLessThan(0.0001);
  });

  it('a zone keeps the rest of the border out', () => {
    const [, y] = street.origin;
    const raise = (points: SceneColumns) => {
      const z = points.z.map((v, i) => (points.y[i] > y - 5 ? v + 0.02 : v));
      return { ...points, z };
    };
    const options = { maxStep: 0.008, minPoints: 10, minCells: 2 };
    const zones = [squareZone('south', BORDER - 50, y - 50, BORDER + 50, y - 5)] as never[];
    expect(check(options, tiles(raise)).state).toBe('fail');
    expect(check({ ...options, zone: 'south' }, tiles(raise), zones).state).toBe('pass');
  });
});

describe('edge-match, judged', () => {
  const step = (more = {}) => ({
    border: 0,
    pass: 1,
    cells: 20,
    step: 0.004,
    stepStd: 0.0015,
    shared: [...Array(22).keys()],
    compared: [...Array(20).keys()],
    walls: 0,
    shift: null,
    shiftStd: null,
    shiftBearing: null,
    straight: true,
    gapCells: 22,
    gap: 0.05,
    partGap: null,
    places: [],
    ...more,
  });
  const files = [
    fileOf('a.las', 0, { header: { min: [0, 0, 0], max: [10, 10, 1] } as never }),
    fileOf('b.las', 1, { header: { min: [10, 0, 0], max: [20, 10, 1] } as never }),
  ];

  it('does not apply to a single file', () => {
    expect(judge(edgeMatch, { maxStep: 0.01 }, { steps: [] }, { files: files.slice(0, 1) }).state).toBe(
      'not-applicable',
    );
  });

  it('says so when no pass crosses a border', () => {
    const verdict = judge(edgeMatch, { maxStep: 0.01 }, { steps: [step({ gapCells: 2 })] }, { files });
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('no pass has enough points on both sides');
  });

  it('a border that is merely grazed does not keep the others from passing, nor passes by itself', () => {
    const grazed = step({ pass: 2, cells: 1, compared: [0], shared: [0, 1, 2, 3, 4, 5], gapCells: 6, step: 0.001 });
    const both = judge(edgeMatch, { maxStep: 0.01 }, { steps: [step(), grazed] }, { files });
    expect(both.state).toBe('pass');
    // 20 of the 22 metres that source 1 or source 2 has on both sides.
    expect(both.measured.judged.value).toBeCloseTo(20 / 22, 9);
    expect(both.summary).toContain('90.9 % of the length of the borders was judged');
    const alone = judge(edgeMatch, { maxStep: 0.01 }, { steps: [grazed] }, { files });
    expect(alone.state).toBe('undetermined');
    expect(alone.measured.judged.value).toBe(0);
  });

  it('walls that are shifted along the border fail, where there are enough of them and the shift is certain', () => {
    const walls = (more: object) => judge(edgeMatch, { maxStep: 0.008 }, { steps: [step(more)] }, { files });
    const shifted = walls({ walls: 12, shift: 0.03, shiftStd: 0.002 });
    expect([shifted.state, shifted.measured.shift.value]).toEqual(['fail', 0.03]);
    expect(shifted.summary).toContain('walls shifted by +30');
    expect(walls({ walls: 12, shift: 0.011, shiftStd: 0.002 }).state).toBe('pass');
    expect(walls({ walls: 5, shift: 0.03, shiftStd: 0.002 }).state).toBe('pass');
  });

  it('says where a horizontal shift could be seen, and in which direction', () => {
    const summary = (...steps: ReturnType<typeof step>[]) =>
      judge(edgeMatch, { maxStep: 0.008 }, { steps }, { files }).summary;
    const walls = { walls: 12, shift: 0.001, shiftStd: 0.002, shiftBearing: 65.2 };
    expect(summary(step())).toMatch(/too few walls cross a border to show a horizontal shift\.$/);
    expect(summary(step({ ...walls, walls: 5 }))).toMatch(/too few walls/);
    expect(summary(step(walls), step({ pass: 2 }))).toMatch(
      /a horizontal shift could be seen at 1 of 2 crossings, at right angles to the walls there \(bearing 65° or 245°\) and not along them\.$/,
    );
    const two = summary(step(walls), step({ ...walls, pass: 2, shiftBearing: 179.8 }));
    expect(two).toMatch(/seen at 2 of 2 crossings, at right angles to the walls there and not along them\.$/);
    // Where only slits are limited, nothing is said of shifts.
    expect(judge(edgeMatch, { maxGap: 0.3 }, { steps: [step()] }, { files }).summary).not.toContain('shift');
  });

  it('a slit in a part of the border leaves it undetermined, and one along all of it fails', () => {
    const slit = (more: object, options: object = {}) =>
      judge(edgeMatch, { maxGap: 0.3, ...options }, { steps: [step(more)] }, { files }).state;
    expect(slit({ partGap: 0.3 })).toBe('pass');
    expect(slit({ partGap: 0.31 })).toBe('undetermined');
    expect(slit({ partGap: 0.31, gap: 0.31 })).toBe('fail');
    expect(slit({ partGap: 0.31, step: 0.02 }, { maxStep: 0.01 })).toBe('fail');
  });

  it('a slit is not judged where the points are too sparse to show one', () => {
    const verdict = judge(edgeMatch, { maxGap: 0.3 }, { steps: [step({ gap: null })] }, { files });
    expect(verdict.state).toBe('undetermined');
    expect(verdict.measured.judged.value).toBe(0);
    expect(verdict.summary).toContain('too few points to show a slit');
  });

  it('files that end apart without a straight edge do not adjoin', () => {
    const apart = [files[0], fileOf('b.las', 1, { header: { min: [14, 0, 0], max: [24, 10, 1] } as never })];
    const slit = (straight: boolean) =>
      judge(
        edgeMatch,
        { maxGap: 0.5 },
        { steps: [step({ cells: 0, compared: [], step: null, gap: 4, straight })] },
        { files: apart },
      );
    expect(slit(true).state).toBe('fail');
    expect(slit(false).state).not.toBe('fail');
  });

  it('a guarded decision weighs the standard deviation of the step', () => {
    const options = { maxStep: 0.005, decision: 'guarded' };
    expect(judge(edgeMatch, options, { steps: [step()] }, { files }).state).toBe('undetermined');
    expect(judge(edgeMatch, options, { steps: [step({ stepStd: 0.0004 })] }, { files }).state).toBe('pass');
    expect(judge(edgeMatch, options, { steps: [step({ step: -0.009 })] }, { files }).state).toBe('fail');
    expect(judge(edgeMatch, { maxStep: 0.005 }, { steps: [step()] }, { files }).state).toBe('pass');
  });
});

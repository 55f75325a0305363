import { describe, expect, it } from 'vitest';
import { passDrift } from '../../src/checks/pass-drift.js';
import { fitLine, fitStep } from '../../src/geometry/line-fit.js';
import { fact } from '../../src/measure/fact-types.js';
import { driftOfPasses, type PassDrift } from '../../src/measure/passes/drift-of-passes.js';
import { FIRST_GPS_TIME, usualDrives } from '../../src/simulate/scene/drives.js';
import type { PassFaults } from '../../src/simulate/scene/pass-faults.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { deliveryOf, judge, squareZone } from './judge.js';
import { inUnit, measureFacts, moved } from './measured-scene.js';

const REQUESTS = {
  compared: fact('pass-pairs', { voxel: 0.5, minPoints: 6, area: null }),
  times: fact('pass-times', { cell: 0.5 }),
};
const OPTIONS = { bin: 1, minCells: 10, window: 60, minSeconds: 8 };

const DRIFT = [undefined, { drift: { from: 8, to: 18, metresPerSecond: 0.001 } }];
const scenes = new Map<string, SceneColumns>();

/** The scene, made once for each set of faults. */
function scan(faults: readonly (PassFaults | undefined)[], passes = 3): SceneColumns {
  const key = JSON.stringify([faults, passes]);
  const scene = scenes.get(key) ?? scanAnew(faults, passes);
  scenes.set(key, scene);
  return scene;
}

/** 120 m of street, driven at 5 m/s, so 24 s a pass; pass k starts 600 k s after the first. */
function scanAnew(faults: readonly (PassFaults | undefined)[], passes: number): SceneColumns {
  const street = createStreet({ treeSpacing: 0, poleSpacing: 0, left: 'open', right: 'open', grade: 0.003 });
  const drives = usualDrives({ passes, density: 70, faults }).map((drive) => ({ ...drive, speed: 5 }));
  return scanToColumns({ street, passes: drives, from: 0, to: 120, noise: 0.004, seed: 12 });
}

const measured = new Map<SceneColumns, ReturnType<typeof measureFacts<typeof REQUESTS>>>();

/** The facts of a scene, measured once where nothing else is required for. */
function measure(points: SceneColumns, options?: Parameters<typeof measureFacts>[2]) {
  if (options) return measureFacts(points, REQUESTS, options);
  const known = measured.get(points) ?? measureFacts(points, REQUESTS);
  measured.set(points, known);
  return known;
}

function drifts(points: SceneColumns, options?: Parameters<typeof measureFacts>[2]): PassDrift[] {
  const { compared, times } = measure(points, options);
  return driftOfPasses(compared.pairs, times, OPTIONS);
}

const startOf = (pass: number) => FIRST_GPS_TIME + 600 * (pass - 1);

describe('pass-drift on a simulated street', () => {
  it('passes that do not drift are told to do so by no more than the noise', () => {
    for (const drift of drifts(scan([]))) {
      expect(drift.time.length).toBeGreaterThan(20);
      expect(Math.abs(drift.offset[drift.worst])).toBeLessThan(0.001);
      expect(Math.abs(drift.slope!.slope)).toBeLessThan(4 * drift.slope!.std + 1e-5);
      expect(drift.steps).toEqual([]);
    }
  });

  it('a drift of 1 mm a second from the 8th to the 18th second comes back bin by bin within 1 mm', () => {
    const points = scan(DRIFT);
    const second = drifts(points).find((drift) => drift.pass === 2)!;
    for (let i = 0; i < second.time.length; i++) {
      const middle = second.time[i] + 0.5 - startOf(2);
      const planted = 0.001 * Math.min(Math.max(middle - 8, 0), 10);
      expect(Math.abs(second.offset[i] - planted)).toBeLessThan(0.001);
    }
  });

  it('a steady drift comes back as its slope within two standard deviations', () => {
    const points = scan([undefined, { drift: { from: -100, to: 100, metresPerSecond: 0.0004 } }]);
    const second = drifts(points).find((drift) => drift.pass === 2)!;
    expect(Math.abs(second.slope!.slope - 0.0004)).toBeLessThan(2 * second.slope!.std + 0.000002);
    expect(second.slope!.std).toBeLessThan(0.00003);
    expect(second.steps).toEqual([]);
  });

  it('a jump of 15 mm is named to the second, its size within 1 mm', () => {
    const points = scan([undefined, undefined, { step: { at: 14.3, gapSeconds: 0, dz: -0.015 } }]);
    const third = drifts(points).find((drift) => drift.pass === 3)!;
    expect(third.steps).toHaveLength(1);
    expect(Math.abs(third.steps[0].at - startOf(3) - 14.3)).toBeLessThanOrEqual(1);
    expect(Math.abs(third.steps[0].step + 0.015)).toBeLessThan(0.001);
  });

  it('a rise of 20 mm within four seconds is a drift, not a step', () => {
    const points = scan([undefined, { drift: { from: 10, to: 14, metresPerSecond: 0.005 } }]);
    const second = drifts(points).find((drift) => drift.pass === 2)!;
    expect(second.steps).toEqual([]);
    expect(Math.abs(second.offset[second.worst] - 0.02)).toBeLessThan(0.001);
  });

  it('a jump over lost satellites is told with the gap of time', () => {
    const points = scan([undefined, { step: { at: 12, gapSeconds: 30, dz: 0.02 } }]);
    const verdict = judge(passDrift, { maxStep: 0.01 }, measure(points));
    expect(verdict.state).toBe('fail');
    const { compared, times } = measure(points);
    const second = driftOfPasses(compared.pairs, times, OPTIONS).find((drift) => drift.pass === 2)!;
    expect(second.steps).toHaveLength(1);
    expect(second.steps[0].gap).toBeGreaterThan(28);
    expect(second.steps[0].gap).toBeLessThan(32);
    expect(Math.abs(second.steps[0].step - 0.02)).toBeLessThan(0.001);
    const [cause] = verdict.causes!;
    expect(cause.rule).toBe('satellite-outage');
    expect(cause.text).toContain('satellite reception');
    expect(cause.text).toContain('source 2');
    expect(cause.figures.step.value).toBe(second.steps[0].step);
  });

  it('a drift behind a gap of time is found like one before it', () => {
    const faults = { drift: { from: 12, to: 40, metresPerSecond: 0.002 }, step: { at: 12, gapSeconds: 40, dz: 0 } };
    const verdict = judge(passDrift, { maxSlope: 30, minSeconds: 8, window: 10 }, measure(scan([undefined, faults])));
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toMatch(/^source 2: drift of \+1[12]\d\.\d mm\/min/);
    expect(verdict.summary).not.toContain('passes exceed');
  });

  it('of three passes only the one that drifts is at fault, though the others look half as wrong', () => {
    const points = scan([undefined, { drift: { from: 8, to: 18, metresPerSecond: 0.002 } }]);
    const verdict = judge(passDrift, { maxOffset: 0.006 }, measure(points));
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.worst.value).toBeCloseTo(0.02, 3);
    expect(verdict.summary).toMatch(/^source 2: up to \+\d\d\.\d mm against the others at GPS time 4197254\d\d\.\d s/);
    expect(verdict.summary).not.toContain('passes exceed');
    // For the sections of a route: where the pass lay how far off; 5 m are driven in a bin of one second.
    const onRoute = verdict.evidence.find((e) => e.kind === 'placed-values')!;
    expect(onRoute.cell).toBeCloseTo(5, 0);
    const set = onRoute.sets.find(({ name }) => name === 'source 2')!;
    expect(Array.from(set.value).reduce((most, value) => Math.max(most, value), 0)).toBe(verdict.measured.worst.value);
    const [first, ...more] = verdict.evidence[0].kind === 'locations' ? verdict.evidence[0].items : [];
    expect(more).toEqual([]);
    // 6 mm are reached 11 s into the pass; the end of the street is 24 s and some lead away.
    const from = Number(/from GPS time ([\d.]+)/.exec(first.note)![1]) - startOf(2);
    expect(Math.abs(from - 11)).toBeLessThanOrEqual(1);
  });

  it('with two passes it says that either may be at fault', () => {
    const points = scan([undefined, { drift: { from: 8, to: 18, metresPerSecond: 0.002 } }], 2);
    const verdict = judge(passDrift, { maxOffset: 0.006 }, measure(points));
    expect(verdict.state).toBe('fail');
    const places = verdict.evidence[0].kind === 'locations' ? verdict.evidence[0].items : [];
    expect(places.map(({ pass }) => pass)).toEqual(['source 1 or source 2']);
    expect(verdict.summary).toContain('with two passes only, the figures do not show which of them is at fault');
  });

  it('with two passes, the one whose time has a gap before the change is named, whichever comes first', () => {
    const step = { step: { at: 12, gapSeconds: 17, dz: -0.025 } };
    for (const [faults, name] of [
      [[undefined, step], 'source 2'],
      [[step], 'source 1'],
    ] as const) {
      const verdict = judge(passDrift, { maxStep: 0.01 }, measure(scan(faults, 2)));
      expect(verdict.state).toBe('fail');
      expect(verdict.summary).toContain(`follows a gap in the time of ${name}`);
      expect(verdict.causes![0].text).toContain(name);
      const places = verdict.evidence[0].kind === 'locations' ? verdict.evidence[0].items : [];
      expect(places.map(({ pass }) => pass)).toEqual([name]);
    }
  });

  it('moving the delivery changes nothing beyond 0.1 mm, feet nothing in metres', () => {
    const points = scan(DRIFT);
    const here = drifts(points);
    const there = drifts(moved(points, [-1000, 2000, 30]));
    const feet = drifts(inUnit(points, 1200 / 3937), { horizontalUnit: 1200 / 3937, heightUnit: 1200 / 3937 });
    for (const other of [there, feet]) {
      other.forEach((drift, p) => {
        drift.offset.forEach((offset, i) => {
          expect(Math.abs(offset - here[p].offset[i])).toBeLessThan(0.0001);
        });
      });
    }
  });
});

describe('pass-drift, judged', () => {
  it('without GPS times nothing can be told', () => {
    const points = scan([]);
    const timeless = { ...points, gpsTime: new Float64Array(points.count).fill(Number.NaN) };
    const verdict = judge(passDrift, { maxOffset: 0.01 }, measure(timeless));
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('at most 0 bins');
  });

  it('a pass too short for a slope leaves the slope open', () => {
    const verdict = judge(passDrift, { maxSlope: 5, minSeconds: 60 }, measure(scan([])));
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('no stretch of 60 s long enough');
  });

  it('asks for surfaces inside its zone', () => {
    const zones = [squareZone('quay', 0, 0, 10, 10)];
    const requirement = { id: 'D', check: 'pass-drift', zone: 'quay', voxel: 0.5, minPoints: 10 };
    const { compared } = passDrift.needs(requirement as never, { delivery: deliveryOf({ zones }) });
    expect(compared.params).toMatchObject({ area: { polygons: [{ outer: [0, 0, 10, 0, 10, 10, 0, 10, 0, 0] }] } });
  });
});

describe('lines and steps by least squares', () => {
  // Worked by hand: t = 0, 1, 2, 3 and v = 1, 3, 2, 5: mean 1.5 and 2.75, slope 5.5 / 5 = 1.1; residuals -0.1, 0.8,
  // -1.3, 0.6, squares 2.7; variance of the slope 2.7 / 2 / 5.
  it('fits a line', () => {
    const fit = fitLine(Float64Array.of(0, 1, 2, 3), Float64Array.of(1, 3, 2, 5), new Float64Array(4).fill(1), 0, 4)!;
    expect(fit.slope).toBeCloseTo(1.1, 12);
    expect(fit.level).toBeCloseTo(2.75, 12);
    expect(fit.slopeStd).toBeCloseTo(Math.sqrt(0.27), 12);
  });

  it('weights count as repetitions, but not as evidence of precision', () => {
    const twice = fitLine(Float64Array.of(0, 1, 1, 4), Float64Array.of(0, 2, 2, 3), new Float64Array(4).fill(1), 0, 4)!;
    const once = fitLine(Float64Array.of(0, 1, 4), Float64Array.of(0, 2, 3), Float64Array.of(1, 2, 1), 0, 3)!;
    expect(once.slope).toBeCloseTo(twice.slope, 12);
  });

  it('finds a step on a slope exactly', () => {
    const t = Float64Array.from({ length: 9 }, (_, i) => 419_724_800 + i);
    const v = Float64Array.from({ length: 9 }, (_, i) => 0.25 * i + (i > 4 ? 3 : 0));
    const fit = fitStep(t, v, 0, 4, 5, 9)!;
    expect(fit.step).toBeCloseTo(3, 12);
    expect(fit.std).toBeCloseTo(0, 12);
    expect(fitStep(t, v, 0, 1, 2, 9)).toBeNull();
  });
});

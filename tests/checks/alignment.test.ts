import { describe, expect, it } from 'vitest';
import { alignment } from '../../src/checks/alignment.js';
import type { Evidence } from '../../src/checks/contract/check.js';
import type { Drive } from '../../src/delivery/trajectory.js';
import type { PointSeconds } from '../../src/measure/point-seconds.js';
import { judge, requirementOf } from './judge.js';
import { driveOf, timesOf } from './trajectory/drive.js';

// Drives by hand; no public rule gives seconds or metres for a vehicle, so the limits are literals of the test.

/** Stands for 60 s, drives 300 s at 10 m/s along x, stands for `after` seconds. */
function drive(after = 40, more: Partial<Drive> = {}): Drive {
  const times = timesOf((360 + after) * 10 + 1);
  return { ...driveOf(times, { x: (t) => 10 * Math.max(0, Math.min(t - 60, 300)) }), ...more };
}

/** 100 points in every second from one to another. */
function pointsIn(from: number, to: number): PointSeconds {
  const second = Float64Array.from({ length: to - from }, (_, i) => from + i);
  return { second, points: second.map(() => 100), x: second.map(() => 0), y: second.map(() => 0) };
}

const run = (options: object, drives: Drive | Drive[], seconds: PointSeconds) =>
  judge(alignment, { ...options }, { seconds }, { trajectory: { drives: [drives].flat(), notes: [] } });
const rowsIn = (evidence: readonly Evidence[]) => evidence.flatMap((part) => (part.kind === 'table' ? part.rows : []));

describe('alignment', () => {
  it('needs the vehicle to stand before the first and after the last point', () => {
    const verdict = run({ minStandSeconds: 40 }, drive(), pointsIn(100, 350));
    expect(verdict.measured.stand.value).toBeGreaterThanOrEqual(39.5);
    const [start, end] = rowsIn(verdict.evidence);
    expect(start[3]).toBeCloseTo(60, 0);
    expect(end[3]).toBeCloseTo(40, 0);
    expect(run({ minStandSeconds: 59 }, drive(60), pointsIn(100, 350)).state).toBe('pass');
    const short = run({ minStandSeconds: 59 }, drive(40), pointsIn(100, 350));
    expect(short.state).toBe('fail');
    expect(short.summary).toContain('at the end of drive.csv stood for 40.0 s (at least 59)');
    expect(run({ minStandSeconds: 59, ends: 'start' }, drive(0), pointsIn(100, 350)).state).toBe('pass');
    expect(run({ minStandSeconds: 59, ends: 'end' }, drive(0), pointsIn(100, 350)).state).toBe('fail');
  });

  it('points that were recorded while the vehicle stood shorten the alignment, and are named', () => {
    const verdict = run({ minStandSeconds: 50, ends: 'start' }, drive(), pointsIn(20, 350));
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.pointsWhileStanding.value).toBeGreaterThan(3800);
    expect(verdict.summary).toContain('points were recorded while it stood');
  });

  it('a drive that begins and ends with points has no alignment', () => {
    const verdict = run({ minMetres: 10 }, drive(), pointsIn(0, 401));
    expect([verdict.state, verdict.measured.metres.value]).toEqual(['fail', 0]);
  });

  it('distance, courses and changes of speed are those without points', () => {
    // 100 m east, then 100 m north at twice the speed, then points.
    const times = timesOf(601);
    const square = {
      ...driveOf(times, { x: (t) => Math.min(100, 5 * t), y: (t) => Math.max(0, Math.min(100, 15 * (t - 20))) }),
    };
    const at = (options: object) => run({ ends: 'start', ...options }, square, pointsIn(40, 60));
    expect(at({ minMetres: 199 }).state).toBe('pass');
    expect(at({ minMetres: 201 }).state).toBe('fail');
    expect(at({ minHeadingRange: 90 }).measured.headingRange.value).toBeCloseTo(90, 3);
    expect(at({ minHeadingRange: 91 }).state).toBe('fail');
    // 18 km/h, 54 km/h, 0 km/h: up once, down once.
    expect(at({ minSpeedChanges: 2 }).measured.speedChanges.value).toBe(2);
    expect(at({ minSpeedChanges: 3 }).state).toBe('fail');
  });

  it('scatter while standing: 0.2 m of a receiver that wanders', () => {
    const wandering = drive(40);
    for (let e = 0; e < 600; e++) wandering.y[e] = 0.2 * Math.sin(e / 200);
    expect(run({ minStandSeconds: 30, maxScatter: 0.5 }, wandering, pointsIn(100, 350)).state).toBe('pass');
    const verdict = run({ minStandSeconds: 30, maxScatter: 0.1 }, wandering, pointsIn(100, 350));
    expect([verdict.state, verdict.summary]).toEqual(['fail', expect.stringContaining('while standing (at most 0.1)')]);
  });

  it('open sky: satellites where they are stated, undetermined where they are not', () => {
    const satellites = new Uint8Array(drive().epochs).fill(8);
    expect(run({ minSatellites: 8 }, drive(40, { satellites }), pointsIn(100, 350)).state).toBe('pass');
    satellites[10] = 4;
    expect(run({ minSatellites: 8 }, drive(40, { satellites }), pointsIn(100, 350)).state).toBe('fail');
    expect(run({ minSatellites: 8 }, drive(), pointsIn(100, 350)).state).toBe('undetermined');
  });

  it('a drive without points is not judged; without any, or without a trajectory, nothing passes', () => {
    expect(run({ minStandSeconds: 30 }, drive(), pointsIn(9000, 9010)).state).toBe('undetermined');
    expect(judge(alignment, { minStandSeconds: 30 }, { seconds: pointsIn(0, 1) }).state).toBe('undetermined');
  });

  it('a drive that is cut at the end of the week has no end there', () => {
    const first = drive(0, { name: 'a' });
    const second = { ...driveOf(timesOf(3001), { name: 'b', x: (t) => Math.min(2000, 10 * t) }), continues: 'a' };
    // The second part stands for its last 100 s; the first stands for its first 60 s.
    const seconds = pointsIn(70, 200);
    expect(run({ minStandSeconds: 50 }, [second, first], seconds).state).toBe('pass');
  });

  it('says in plain words what it asks', () => {
    const words = alignment.explain(
      requirementOf({ check: 'alignment', minStandSeconds: 300, minMetres: 500 }) as never,
    );
    expect(words).toBe(
      'In every drive the vehicle must, before its first and after its last point, stand for at least 300 s, drive at least 500.000 m; no point may be recorded meanwhile.',
    );
  });
});

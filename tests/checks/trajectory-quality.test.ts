import { describe, expect, it } from 'vitest';
import type { Evidence } from '../../src/checks/contract/check.js';
import { trajectoryQuality } from '../../src/checks/trajectory-quality.js';
import type { Drive, Trajectory } from '../../src/delivery/trajectory.js';
import type { PointSeconds } from '../../src/measure/point-seconds.js';
import { judge, requirementOf } from './judge.js';
import { type DriveParts, driveOf, timesOf } from './trajectory/drive.js';

// Expected values are counted by hand from the drives below: 101 epochs in 10 s along x at 10 m/s, which is 36 km/h. The limits
// are those that the sources of the check publish.

const floats = (value: (e: number) => number, n = 101) => Float32Array.from({ length: n }, (_, e) => value(e));
const bytes = (value: (e: number) => number, n = 101) => Uint8Array.from({ length: n }, (_, e) => value(e));

function run(options: object, drives: Drive | Drive[], seconds?: PointSeconds) {
  const trajectory: Trajectory = { drives: [drives].flat(), notes: [] };
  return judge(trajectoryQuality, { ...options }, { seconds } as never, { trajectory });
}

const placesIn = (evidence: readonly Evidence[]) =>
  evidence.flatMap((part) => (part.kind === 'locations' ? part.items : []));

describe('trajectory-quality', () => {
  it('holds the extreme and the mean of the standard deviations against their limits, the worse axis', () => {
    const drive = driveOf(timesOf(101), {
      sigmaEast: floats(() => 0.03),
      sigmaNorth: floats((e) => (e === 40 || e === 41 ? 0.16 : 0.02)),
      means: { sigmaEast: 0.03, sigmaNorth: 0.0228 },
    });
    const verdict = run({ maxSigmaHorizontal: 0.15, maxMeanSigmaHorizontal: 0.1 }, drive);
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.sigmaHorizontal.value).toBeCloseTo(0.16, 6);
    expect(verdict.measured.meanSigmaHorizontal.value).toBe(0.03);
    expect(placesIn(verdict.evidence)).toMatchObject([{ x: 40, y: 0, unit: 'm', pass: 'drive.csv' }]);
    expect(placesIn(verdict.evidence)[0].note).toContain('from GPS time 4.000 s, for 0.2 s');
    expect(verdict.evidence.some((part) => part.kind === 'series')).toBe(true);
    const good = run({ maxSigmaHorizontal: 0.16, maxMeanSigmaHorizontal: 0.03 }, drive);
    expect(good.state).toBe('pass');
  });

  it('a share of the time within the standard deviations takes the place of the extremes', () => {
    const drive = driveOf(timesOf(101), {
      sigmaEast: floats((e) => (e >= 90 ? 0.2 : 0.02)),
      sigmaNorth: floats(() => 0.02),
    });
    const share = run({ maxSigmaHorizontal: 0.1, minSigmaShare: 0.9 }, drive);
    // 90 of 100 intervals of 0.1 s.
    expect(share.measured.sigmaShare.value).toBeCloseTo(0.9, 9);
    expect(share.state).toBe('pass');
    expect(run({ maxSigmaHorizontal: 0.1, minSigmaShare: 0.91 }, drive).state).toBe('fail');
  });

  it.each<[object, DriveParts, DriveParts]>([
    [{ maxSigmaHeight: 0.2 }, { sigmaUp: floats(() => 0.2) }, { sigmaUp: floats(() => 0.21) }],
    [
      { maxSigmaRollPitch: 0.05 },
      { sigmaRoll: floats(() => 0.05), sigmaPitch: floats(() => 0.01) },
      { sigmaRoll: floats(() => 0.01), sigmaPitch: floats(() => 0.051) },
    ],
    [{ maxSigmaHeading: 0.1 }, { sigmaHeading: floats(() => 0.1) }, { sigmaHeading: floats(() => 0.11) }],
    [
      { maxSeparation: 0.3 },
      { separationEast: floats(() => -0.3), separationNorth: floats(() => 0), separationUp: floats(() => 0) },
      { separationEast: floats(() => 0), separationNorth: floats(() => -0.31), separationUp: floats(() => 0) },
    ],
    [{ maxPdop: 3 }, { pdop: floats(() => 3) }, { pdop: floats((e) => (e === 7 ? 3.2 : 2)) }],
    [{ minSatellites: 5 }, { satellites: bytes(() => 5) }, { satellites: bytes((e) => (e === 7 ? 4 : 9)) }],
    [{ maxBaseDistance: 10_000 }, { baseDistance: floats(() => 10_000) }, { baseDistance: floats((e) => 9950 + e) }],
    [{ minFixedShare: 0.98 }, { solution: bytes((e) => (e < 2 ? 4 : 5)) }, { solution: bytes((e) => (e < 3 ? 4 : 5)) }],
  ])(
    '%j: as good as the limit passes, worse fails, a drive without the column is undetermined',
    (options, good, bad) => {
      expect(run(options, driveOf(timesOf(101), good)).state).toBe('pass');
      const failed = run(options, driveOf(timesOf(101), bad));
      expect(failed.state).toBe('fail');
      const lacking = run(options, [driveOf(timesOf(101), good), driveOf(timesOf(101), { name: 'other.csv' })]);
      expect(lacking.state).toBe('undetermined');
      expect(lacking.summary).toMatch(/other.csv has no column for the /);
      expect(trajectoryQuality.explain(requirementOf({ check: 'trajectory-quality', ...options }) as never)).toMatch(
        /^In every drive/,
      );
    },
  );

  it('epochs that do not state a value are not taken for good', () => {
    const verdict = run({ maxPdop: 3 }, driveOf(timesOf(101), { pdop: floats((e) => (e === 50 ? Number.NaN : 2)) }));
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('1 epoch does not state the PDOP');
  });

  it('a gap between two rows, and where it is', () => {
    const times = [...timesOf(50), ...timesOf(50).map((t) => t + 8)];
    const verdict = run({ maxGap: 1 }, driveOf(times));
    expect(verdict.measured.gap.value).toBeCloseTo(3.1, 6);
    expect(verdict.state).toBe('fail');
    expect(placesIn(verdict.evidence)).toMatchObject([{ x: 49 }]);
    expect(run({ maxGap: 3.11 }, driveOf(times)).state).toBe('pass');
  });

  it('a jump is what no vehicle can drive: a step of half a metre is, braking with 8 m/s2 is not', () => {
    const step = driveOf(timesOf(101), { x: (t) => 10 * t + (t >= 5 ? 0.5 : 0) });
    const found = run({ maxJump: 0.1 }, step);
    expect(found.state).toBe('fail');
    // 0.5 m less what 10 m/s2 allows: 10 * 0.1 * 0.2 / 2 = 0.1 m.
    expect(found.measured.jump.value).toBeCloseTo(0.4, 6);
    expect(placesIn(found.evidence)).toHaveLength(1);
    const braking = driveOf(timesOf(13), { x: (t) => 10 * t - 4 * t * t });
    expect(run({ maxJump: 0.001 }, braking).state).toBe('pass');
  });

  it('speed: the fastest, or the share of the time above', () => {
    const drive = driveOf(timesOf(101), { x: (t) => (t < 5 ? 10 * t : 50 + 20 * (t - 5)) });
    const fast = run({ maxSpeed: 50 }, drive);
    expect(fast.measured.fastest.value).toBeCloseTo(72, 3);
    expect(fast.state).toBe('fail');
    expect(run({ maxSpeed: 50, maxShareAboveSpeed: 0.6 }, drive).state).toBe('pass');
    expect(run({ maxSpeed: 50, maxShareAboveSpeed: 0.4 }, drive).state).toBe('fail');
  });

  it('points without trajectory: their share, the seconds, and where they are', () => {
    const seconds: PointSeconds = {
      second: Float64Array.of(2, 3, 20, 21, 40),
      points: Float64Array.of(600, 200, 100, 50, 50),
      x: Float64Array.of(1, 2, 3, 4, 5),
      y: Float64Array.of(1, 1, 1, 1, 1),
    };
    const verdict = run({ maxPointsWithout: 0.1 }, driveOf(timesOf(101)), seconds);
    expect(verdict.state).toBe('fail');
    expect(verdict.measured).toMatchObject({ pointsWithout: { value: 0.2 }, secondsWithout: { value: 3 } });
    expect(placesIn(verdict.evidence)).toMatchObject([
      { x: 3, value: 2, unit: 's' },
      { x: 5, value: 1 },
    ]);
    expect(run({ maxPointsWithout: 0.2 }, driveOf(timesOf(101)), seconds).state).toBe('pass');
    const pause = { ...seconds, second: Float64Array.of(1, 2, 7, 8, 9) };
    const paused = run({ maxSecondsWithoutPoints: 4 }, driveOf(timesOf(101)), pause);
    expect([paused.state, paused.measured.secondsWithoutPoints.value]).toEqual(['pass', 4]);
    expect(run({ maxSecondsWithoutPoints: 3.9 }, driveOf(timesOf(101)), pause).state).toBe('fail');
  });

  it('without a trajectory, or with one that cannot be used, nothing passes', () => {
    const none = judge(trajectoryQuality, { maxPdop: 3 }, { seconds: undefined } as never);
    expect([none.state, none.advice[0]]).toEqual(['undetermined', expect.stringContaining('--trajectory')]);
    const trajectory: Trajectory = { drives: [], notes: [], problem: 'a.csv: the trajectory is 3.0 km from the cloud' };
    const unusable = judge(trajectoryQuality, { maxPdop: 3 }, { seconds: undefined } as never, { trajectory });
    expect(unusable.state).toBe('undetermined');
    expect(unusable.summary).toContain('3.0 km from the cloud');
  });

  it('needs at least one limit', () => {
    expect(() => requirementOf({ check: 'trajectory-quality' })).toThrow();
    expect(() => requirementOf({ check: 'trajectory-quality', minSigmaShare: 0.9 })).toThrow();
  });
});

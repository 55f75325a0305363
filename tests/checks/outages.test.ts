import { describe, expect, it } from 'vitest';
import type { Evidence } from '../../src/checks/contract/check.js';
import { outages } from '../../src/checks/outages.js';
import { type Drive, SOLUTIONS } from '../../src/delivery/trajectory.js';
import { CsvReader } from '../../src/trajectory/read-csv.js';
import { judge, requirementOf, surveyPoint } from './judge.js';
import { driveOf, timesOf } from './trajectory/drive.js';

// Losses are planted by hand; distances are 10 m/s times seconds. 60 s: Korea, notice 2023-4338, annex 2.2 (read).

const FIXED = SOLUTIONS.indexOf('fixed');
const FLOAT = SOLUTIONS.indexOf('float');

/** 200 s, 10 Hz, along x at 10 m/s; float from `from` to `to`. */
function lost(from: number, to: number, more: Partial<Pick<Drive, 'name' | 'sigmaEast'>> = {}): Drive {
  const times = timesOf(2001);
  return driveOf(times, { solution: Uint8Array.from(times, (t) => (t >= from && t < to ? FLOAT : FIXED)), ...more });
}

const run = (options: object, drives: readonly Drive[], more: object = {}) =>
  judge(outages, { ...options }, {} as never, { trajectory: { drives, notes: [] }, ...more });
const rowsIn = (evidence: readonly Evidence[]) => evidence.flatMap((part) => (part.kind === 'table' ? part.rows : []));
const placesIn = (evidence: readonly Evidence[]) =>
  evidence.flatMap((part) => (part.kind === 'locations' ? part.items : []));

describe('outages', () => {
  it('gives each loss with its begin, time, distance and largest standard deviation', () => {
    const sigmaEast = Float32Array.from(timesOf(2001), (t) => (t >= 50 && t < 120 ? 0.01 * (t - 49) : 0.01));
    const verdict = run({ maxSeconds: 60 }, [lost(50, 120, { sigmaEast })]);
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.longest.value).toBeCloseTo(70, 9);
    expect(verdict.measured.farthest.value).toBeCloseTo(700, 6);
    expect(verdict.measured.outages.value).toBe(1);
    expect(verdict.measured.sigma.value).toBeCloseTo(0.709, 5);
    expect(rowsIn(verdict.evidence)).toMatchObject([
      ['drive.csv', 50, 70, 700, 'float', expect.anything(), 'not given'],
    ]);
    expect(placesIn(verdict.evidence)).toMatchObject([
      { x: 500, y: 0 },
      { x: 1200, y: 0 },
    ]);
    expect(verdict.summary).toContain('longer than 60 s');
  });

  it('a loss as long as the limit passes, and so does a drive without any', () => {
    expect(run({ maxSeconds: 60 }, [lost(50, 110)]).state).toBe('pass');
    expect(run({ maxMetres: 600.001 }, [lost(50, 110)]).state).toBe('pass');
    expect(run({ maxMetres: 599 }, [lost(50, 110)]).state).toBe('fail');
    const none = run({ maxSeconds: 60 }, [lost(0, 0)]);
    expect([none.state, none.measured.longest.value, none.measured.outages.value]).toEqual(['pass', 0, 0]);
  });

  it('is exact to the row: one millisecond beyond the limit fails', () => {
    const fine = `time,x,y,z,fix\n${Array.from({ length: 61 }, (_, i) => `${(100 + i / 1000).toFixed(3)},${i},0,0,${i >= 10 && i < 31 ? 'float' : 'fixed'}`).join('\n')}\n`;
    const reader = new CsvReader('a.csv');
    reader.add(Buffer.from(fine));
    const { epochs } = reader.finish().drives[0];
    const drive = driveOf([...epochs.time], { solution: epochs.columns.solution as Uint8Array });
    // Float from 100.010 to 100.030 s, fixed again at 100.031 s: 21 ms.
    expect(run({ maxSeconds: 0.021 }, [drive]).state).toBe('pass');
    expect(run({ maxSeconds: 0.02 }, [drive]).state).toBe('fail');
  });

  it('a gap between rows is a loss: nothing is known there', () => {
    const times = [...timesOf(500), ...timesOf(500).map((t) => t + 149.9)];
    const drive = driveOf(times, { solution: new Uint8Array(1000).fill(FIXED) });
    const verdict = run({ maxSeconds: 60 }, [drive]);
    expect(verdict.state).toBe('fail');
    expect(rowsIn(verdict.evidence)).toMatchObject([
      ['drive.csv', expect.closeTo(49.9), expect.closeTo(100), expect.closeTo(1000), 'no rows', null, 'not given'],
    ]);
  });

  it('longer losses need a control point beside the way driven in them; check points are none', () => {
    const options = { controlAfterSeconds: 60, controlRadius: 20 };
    const at = (x: number, y: number, role: 'control' | 'check') => surveyPoint(`P${x}`, { x, y, role });
    const state = (...surveyPoints: ReturnType<typeof at>[]) => run(options, [lost(50, 120)], { surveyPoints }).state;
    expect(state(at(800, 19, 'control'))).toBe('pass');
    expect(state(at(800, 21, 'control'))).toBe('fail');
    expect(state(at(400, 0, 'control'))).toBe('fail');
    expect(state(at(800, 0, 'check'))).toBe('fail');
    expect(run(options, [lost(50, 110)], { surveyPoints: [] }).state).toBe('pass');
    const unknown = run(options, [lost(50, 120)]);
    expect([unknown.state, unknown.summary]).toEqual([
      'undetermined',
      expect.stringContaining('no survey points were given'),
    ]);
  });

  it('a loss at the begin or the end may be longer than the file shows, so it does not pass', () => {
    expect(run({ maxSeconds: 60 }, [lost(0, 20)]).state).toBe('undetermined');
    expect(run({ maxSeconds: 60 }, [lost(180, 300)]).state).toBe('undetermined');
    expect(run({ maxSeconds: 10 }, [lost(180, 300)]).state).toBe('fail');
  });

  it('a loss over the end of the GPS week is one', () => {
    const before = { ...lost(170, 300, { name: 'a' }) };
    before.interval[2000] = 0.1;
    const after = { ...lost(0, 40, { name: 'b' }), continues: 'a' };
    after.x.forEach((x, e) => {
      after.x[e] = x + 2001;
    });
    const verdict = run({ maxSeconds: 60 }, [after, before]);
    expect(verdict.measured.longest.value).toBeCloseTo(30 + 0.1 + 40, 6);
    expect([verdict.state, verdict.measured.outages.value]).toEqual(['fail', 1]);
  });

  it('solutions that are accepted are no loss', () => {
    expect(run({ maxSeconds: 60, accepted: ['fixed', 'float'] }, [lost(50, 120)]).measured.outages.value).toBe(0);
  });

  it('without the solution type of a drive, or without a trajectory, nothing passes', () => {
    const plain = driveOf(timesOf(10), { name: 'plain.csv' });
    expect(run({ maxSeconds: 60 }, [plain]).summary).toContain('plain.csv has no column for the solution type');
    expect(run({ maxSeconds: 60 }, [lost(50, 60), plain]).state).toBe('undetermined');
    expect(run({ maxSeconds: 60 }, [lost(50, 120), plain]).state).toBe('fail');
    expect(judge(outages, { maxSeconds: 60 }, {} as never).state).toBe('undetermined');
  });

  it('says in plain words what it asks, and where 60 s come from', () => {
    const words = outages.explain(
      requirementOf({ check: 'outages', maxSeconds: 60, controlAfterSeconds: 30 }) as never,
    );
    expect(words).toContain('last at most 60 s (what one public rule asks a system to bridge)');
    expect(words).toContain('longer than 30 s');
  });
});

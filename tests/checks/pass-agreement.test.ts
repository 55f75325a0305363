import { describe, expect, it } from 'vitest';
import { passAgreement } from '../../src/checks/pass-agreement.js';
import type { PassPair, PassPairs } from '../../src/measure/pass-pairs.js';
import { judge } from './judge.js';

function pairOf(a: number, b: number, more: Partial<PassPair> = {}): PassPair {
  return {
    a,
    b,
    shared: 500,
    dense: 400,
    planes: 300,
    cells: 200,
    rejected: 0,
    meanDz: 0.001,
    rmsDz: 0.004,
    maxDz: 0.012,
    p95Dz: 0.008,
    shift: [0.001, 0.002, 0.001],
    shiftStd: [0.0002, 0.0002, 0.0001],
    observable: [true, true, true],
    shiftLength: 0.00245,
    directions: [{ direction: [0, 0, 1], distance: 0.001, std: 0.0002 }],
    gross: [0, 0, 0],
    worst: [{ x: 1, y: 2, z: 3, dz: 0.012 }],
    map: { x: new Float64Array(0), y: new Float64Array(0), dz: new Float64Array(0) },
    ...more,
  };
}

function pairs(...list: PassPair[]): PassPairs {
  return { voxel: 0.5, passes: [1, 2, 3], pairs: list };
}

const LIMITS = { maxRmsDz: 0.016, maxDz: 0.032, maxShift: 0.015 };

describe('pass-agreement', () => {
  it('passes when every pair is within every limit', () => {
    const verdict = judge(passAgreement, LIMITS, [pairs(pairOf(1, 2), pairOf(1, 3))]);
    expect(verdict.state).toBe('pass');
    expect(verdict.measured).toMatchObject({
      pairs: { value: 2 },
      cells: { value: 400 },
      rmsDz: { value: 0.004, unit: 'm' },
    });
    expect(verdict.passPairs).toHaveLength(2);
  });

  it.each([
    ['rmsDz', { rmsDz: 0.017 }],
    ['maxDz', { maxDz: 0.033 }],
    ['shift', { shiftLength: 0.0436 }],
  ])('fails on %s alone and names the pair', (_, more) => {
    const verdict = judge(passAgreement, LIMITS, [pairs(pairOf(1, 2), pairOf(2, 3, more))]);
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('source 2 and source 3');
  });

  it('never makes up a shift that no surface reveals: undetermined, and it says along which axes', () => {
    const bare = {
      shift: [null, null, 0.001],
      shiftStd: [null, null, 0.0001],
      observable: [false, false, true],
      shiftLength: 0.001,
    };
    const verdict = judge(passAgreement, LIMITS, [pairs(pairOf(1, 2, bare))]);
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('no surface reveals the shift along x and y');
    expect(judge(passAgreement, { maxRmsDz: 0.016 }, [pairs(pairOf(1, 2, bare))]).state).toBe('pass');
  });

  it('too few common surfaces are no evidence, with the numbers', () => {
    const thin = pairOf(1, 2, { shared: 900, dense: 3, planes: 2, cells: 1 });
    const verdict = judge(passAgreement, LIMITS, [pairs(thin)]);
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('900 cubes');
    expect(verdict.summary).toContain('only 3 of them hold 10 points');
  });

  it('one pass, or passes that never meet, cannot be compared', () => {
    expect(judge(passAgreement, LIMITS, [{ voxel: 0.5, passes: [1], pairs: [] }]).state).toBe('undetermined');
    expect(judge(passAgreement, LIMITS, [pairs()]).state).toBe('undetermined');
  });

  it('a guarded decision weighs the standard deviation of the shift', () => {
    const near = { shiftLength: 0.0148, directions: [{ direction: [0, 0, 1], distance: 0.0148, std: 0.0005 }] };
    expect(judge(passAgreement, LIMITS, [pairs(pairOf(1, 2, near))]).state).toBe('pass');
    expect(judge(passAgreement, { ...LIMITS, decision: 'guarded' }, [pairs(pairOf(1, 2, near))]).state).toBe(
      'undetermined',
    );
  });
});

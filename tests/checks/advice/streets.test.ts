import { describe, expect, it } from 'vitest';
import type { Verdict } from '../../../src/checks/contract/check.js';
import { passAgreement } from '../../../src/checks/pass-agreement.js';
import { passDrift } from '../../../src/checks/pass-drift.js';
import type { PassAssignment } from '../../../src/engine/job.js';
import { usualDrives } from '../../../src/simulate/scene/drives.js';
import type { PassFaults } from '../../../src/simulate/scene/pass-faults.js';
import { scanToColumns } from '../../../src/simulate/scene/scanner.js';
import { createStreet } from '../../../src/simulate/scene/street.js';
import type { SceneColumns } from '../../../src/simulate/writer/point-columns.js';
import { verdictOf } from '../../laws/street-figures.js';
import { deliveryOf, judge, requirementOf } from '../judge.js';
import { measureFacts } from '../measured-scene.js';

const HEADING = 30;
const LANES = [-2, 2, 2.6, -2.6];
const street = createStreet({ origin: [0, 0], headingDegrees: HEADING, treeSpacing: 0, poleSpacing: 0 });

/** 40 m of street with walls on both sides, driven forth, back, forth and back. */
function scan(faults: readonly (PassFaults | undefined)[]): SceneColumns {
  const passes = usualDrives({ passes: faults.length, density: 60, faults });
  return scanToColumns({ street, passes, from: 0, to: 40, noise: 0.004, seed: 5 });
}

function judgePasses(points: SceneColumns, options: object, passes?: PassAssignment): Verdict {
  const requirement = { check: 'pass-agreement', voxel: 0.5, minPoints: 8, ...options };
  const by = passes?.by ?? 'point-source-id';
  const delivery = deliveryOf({ passRule: { by } as never });
  const asked = requirementOf(requirement) as never;
  const requests = { ...passAgreement.needs(asked, { delivery }), ...passAgreement.needsForCauses(asked) };
  const measured = measureFacts(points, requests, { passes });
  return judge(passAgreement, requirement, measured, { passRule: { by } as never });
}

/** A vector of the vehicle (along, left, up) in the world, for a drive forth (1) or back (-1). */
function inWorld([along, left, up]: readonly number[], direction: number): [number, number, number] {
  const a = (HEADING * Math.PI) / 180;
  const [u, v] = [along * direction, left * direction];
  return [u * Math.cos(a) - v * Math.sin(a), u * Math.sin(a) + v * Math.cos(a), up];
}

const causeOf = (verdict: Verdict, rule: string) => verdict.causes?.find((cause) => cause.rule === rule) ?? null;

// What is planted is the outside truth: the scene is analytic, its faults have exact sizes.
describe('likely causes on simulated streets', () => {
  it('offsets of the scanner on the vehicle come back from drives forth and back within 1 mm', () => {
    const faults = [1, -1, 1, -1].map((direction) => ({ shift: inWorld([0.012, -0.02, 0], direction) }));
    const verdict = judgePasses(scan(faults), { maxShift: 0.015 });
    expect(verdict.state).toBe('fail');
    const { figures } = causeOf(verdict, 'opposite-drives')!;
    expect(Math.abs(figures.left.value! + 0.02)).toBeLessThan(0.001);
    expect(Math.abs(figures.along.value! - 0.012)).toBeLessThan(0.001);
    expect(figures).toMatchObject({ opposite: { value: 4 }, same: { value: 2 } });
    expect(causeOf(verdict, 'one-pass-shifted')).toBeNull();
  });

  it('a roll of the scanner comes back within two hundredths of its size', () => {
    // The roll is planted about the direction of the street, so drives back carry the opposite sign.
    const roll = 0.004;
    const faults = [1, -1, 1, -1].map((direction) => ({ rollRadians: roll * direction }));
    const verdict = judgePasses(scan(faults), { maxRmsDz: 0.01 });
    expect(verdict.state).toBe('fail');
    const { figures } = causeOf(verdict, 'opposite-drives')!;
    expect(Math.abs(figures.roll.value! / ((roll * 180) / Math.PI) - 1)).toBeLessThan(0.02);
  });

  it('a shift of one pass of four is no mounting error', () => {
    const verdict = judgePasses(scan([undefined, { shift: [0.03, -0.02, 0] }, undefined, undefined]), {
      maxShift: 0.015,
    });
    expect(causeOf(verdict, 'opposite-drives')).toBeNull();
    expect(causeOf(verdict, 'one-pass-shifted')!.text).toContain('source 2 differs from all 3 others');
  });

  it('heights that grow with the distance from the vehicle come back within two standard deviations', () => {
    const points = scan([undefined, undefined, undefined, undefined]);
    const slope = 0.003;
    const a = (HEADING * Math.PI) / 180;
    for (let i = 0; i < points.count; i++) {
      const v = -points.x[i] * Math.sin(a) + points.y[i] * Math.cos(a);
      points.z[i] += slope * Math.abs(v - LANES[points.pointSourceId[i] - 1]);
    }
    const verdict = judgePasses(points, { maxDz: 0.01 });
    const { figures } = causeOf(verdict, 'range-growth')!;
    expect(Math.abs(figures.metresPerMetre.value! - slope)).toBeLessThan(0.0002);
    expect(causeOf(verdict, 'opposite-drives')).toBeNull();
  });

  it('two heads that do not agree are told from two drives that do not', () => {
    const points = scan([undefined]);
    for (let i = 0; i < points.count; i++) if (points.scannerChannel[i] === 1) points.z[i] += 0.02;
    const verdict = judgePasses(points, { maxDz: 0.01 }, { by: ['scanner-channel'] });
    expect(Math.abs(causeOf(verdict, 'scanner-heads')!.figures.shift.value! - 0.02)).toBeLessThan(0.001);
    expect(causeOf(verdict, 'opposite-drives')).toBeNull();
  });

  it('a drift that begins after 40 s without satellites is told from one that begins on the way', () => {
    const open = createStreet({ treeSpacing: 0, poleSpacing: 0, left: 'open', right: 'open', grade: 0.003 });
    const drift = { from: 12, to: 40, metresPerSecond: 0.002 };
    const judgeDrift = (faults: PassFaults) => {
      const passes = usualDrives({ passes: 3, density: 60, faults: [undefined, faults] }).map((d) => ({
        ...d,
        speed: 5,
      }));
      const points = scanToColumns({ street: open, passes, from: 0, to: 130, noise: 0.004, seed: 12 });
      const options = { maxSlope: 30, minSeconds: 8, window: 10, minPoints: 6 };
      return verdictOf(passDrift, options, points);
    };
    const outage = judgeDrift({ drift, step: { at: 12, gapSeconds: 40, dz: 0 } });
    expect(outage.state).toBe('fail');
    const { text, figures } = causeOf(outage, 'satellite-outage')!;
    expect(text).toContain('source 2 begins to drift');
    // 2 mm a second; the gap is seen to the second
    expect(Math.abs(figures.slope.value! - 120)).toBeLessThan(6);
    expect(Math.abs(figures.gap.value! - 40)).toBeLessThanOrEqual(2);
    const without = judgeDrift({ drift });
    expect(without.causes!.map(({ rule }) => rule)).toEqual(['trajectory-drift']);
  });

  it('a street without a fault has no cause to name', () => {
    const verdict = judgePasses(scan([undefined, undefined, undefined]), { maxShift: 0.015, maxDz: 0.03 });
    expect(verdict.state).toBe('pass');
    expect(verdict.causes).toEqual([]);
  });
});

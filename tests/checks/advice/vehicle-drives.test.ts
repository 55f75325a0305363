import { describe, expect, it } from 'vitest';
import type { Verdict } from '../../../src/checks/contract/check.js';
import { passDrift } from '../../../src/checks/pass-drift.js';
import { driveStreet, type VehicleDriveOptions } from '../../../src/simulate/drive/drive-street.js';
import { FIRST_GPS_TIME } from '../../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../../src/simulate/scene/scanner.js';
import { createStreet } from '../../../src/simulate/scene/street.js';
import { simulatedTrajectory } from '../../simulated-trajectory.js';
import { deliveryOf, requirementOf } from '../judge.js';
import { measureFacts } from '../measured-scene.js';

const street = createStreet({ origin: [0, 0], left: 'open', right: 'open', poleSpacing: 0, treeSpacing: 0 });
const there = { lane: -2, direction: 1 } as const;
const back = { lane: 2, direction: -1 } as const;

/** A sound drive there and back at 4 m/s along 60 m of bare road, and another one there: what is planted is in the second. */
function verdictOf(more: Partial<VehicleDriveOptions>): { verdict: Verdict; drive: ReturnType<typeof driveStreet> } {
  const usual = {
    street,
    from: 0,
    to: 60,
    speed: 4,
    lineSpacing: 0.15,
    pattern: { by: 'surface', spacing: 0.25 },
    alignmentBefore: { standSeconds: 30, loops: 2 },
    alignmentAfter: { standSeconds: 30, loops: 2 },
  } as const;
  const sound = driveStreet({ ...usual, legs: [there, back] });
  const next = { startTime: FIRST_GPS_TIME + 900, firstSourceId: 3, legs: [there] };
  const drive = driveStreet({ ...usual, ...next, ...more });
  const passes = [...sound.passes, ...drive.passes];
  const points = scanToColumns({ street, passes, from: 0, to: 60, noise: 0.003, seed: 8 });
  const context = { delivery: deliveryOf({ trajectory: simulatedTrajectory([sound, drive], { rate: 20 }) }) };
  const requirement = requirementOf({ check: 'pass-drift', maxOffset: 0.012, minPoints: 6 }) as never;
  const verdict = passDrift.judge(measureFacts(points, passDrift.needs(requirement, context)), requirement, context);
  expect(verdict.state).toBe('fail');
  return { verdict, drive };
}
const rulesOf = ({ causes = [] }: Verdict) => causes.map(({ rule }) => rule);
const ofVehicle = ['outage-drift', 'growth-since-alignment', 'no-closing-alignment'];
const spoken = (verdict: Verdict) => rulesOf(verdict).filter((rule) => ofVehicle.includes(rule));

// What is planted is exact: size, begin and end of the error.
describe('causes from what the drive did', () => {
  it('an outage in which the height drifts, found in its time, and at its size within 1 mm or two standard deviations', () => {
    const { verdict, drive } = verdictOf({
      outages: [{ leg: 0, fromMetres: 20, toMetres: 52, error: { up: 0.05 }, shape: 'smoothed' }],
    });
    expect(spoken(verdict)).toEqual(['outage-drift']);
    const { figures } = verdict.causes!.find(({ rule }) => rule === 'outage-drift')!;
    expect(Math.abs(figures.from.value! - drive.stamp(drive.times.outages[0].from))).toBeLessThanOrEqual(0.05);
    expect(Math.abs(figures.to.value! - drive.stamp(drive.times.outages[0].to))).toBeLessThanOrEqual(0.05);
    // The parabola has its top within a bin of a second: at most 1 % below 50 mm there.
    expect(Math.abs(figures.offset.value! - 0.05)).toBeLessThan(Math.max(0.001, 2 * figures.std.value!));
  });

  it('an error that grows since the alignment, although a closing one follows', () => {
    const { verdict, drive } = verdictOf({
      errors: ({ aligned, legs }) => [{ from: aligned!, to: legs[0].to, shape: 'growing', up: 0.04 }],
    });
    expect(spoken(verdict)).toEqual(['growth-since-alignment']);
    const { figures } = verdict.causes!.find(({ rule }) => rule === 'growth-since-alignment')!;
    const { aligned, legs } = drive.times;
    const planted = (0.04 / (legs[0].to - aligned!)) * 60_000;
    expect(Math.abs(figures.slope.value! - planted)).toBeLessThan(2 * figures.slopeStd.value!);
    // The vehicle leaves its last circle some seconds before or after the loops end.
    expect(Math.abs(figures.aligned.value! - drive.stamp(aligned!))).toBeLessThan(5);
  });

  it('a drive without its closing alignment, whose error grows to its end', () => {
    const { verdict } = verdictOf({
      errors: ({ legs }) => [{ from: legs[0].from + 3, to: legs[0].to, shape: 'growing', up: 0.04 }],
      alignmentAfter: null,
    });
    expect(spoken(verdict)).toEqual(['no-closing-alignment']);
  });

  it('says nothing of a step without an outage, between two alignments', () => {
    const { verdict } = verdictOf({
      errors: ({ legs }) => [{ from: legs[0].from + 9, to: legs[0].to, shape: 'constant', up: 0.03 }],
    });
    expect(spoken(verdict)).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import { alignmentsOf, outagesOf } from '../../src/delivery/drive-events.js';
import { driveStreet, type VehicleDriveOptions } from '../../src/simulate/drive/drive-street.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { simulatedTrajectory } from '../simulated-trajectory.js';

const street = createStreet({ headingDegrees: 70 });

function driven(more: Partial<VehicleDriveOptions> = {}) {
  const legs = [
    { lane: -2, direction: 1 },
    { lane: 2, direction: -1 },
  ] as const;
  const drive = driveStreet({ street, from: 0, to: 150, legs, ...more });
  return { drive, rows: simulatedTrajectory([drive], { rate: 10 }).drives[0] };
}

// The simulated drive has exact times; a row every 0.1 s finds them within one.
describe('what a drive did', () => {
  it('aligned: it stood and drove circles before and after, and turned around in between', () => {
    const { drive, rows } = driven();
    const [before, after, ...more] = alignmentsOf(rows);
    expect(more).toEqual([]);
    expect(before.from).toBeCloseTo(drive.stamp(0), 0);
    expect(Math.abs(before.to - drive.stamp(drive.times.aligned!))).toBeLessThan(8);
    expect(Math.abs(after.from - drive.stamp(drive.times.closing!))).toBeLessThan(8);
    expect(after.to).toBeCloseTo(drive.stamp(drive.times.end), 0);
  });

  it('did not align: only stood for some seconds, and turned around', () => {
    const stops = [{ at: 70, seconds: 15 }];
    const none = { alignmentBefore: null, alignmentAfter: null };
    expect(alignmentsOf(driven({ ...none, legs: [{ lane: 0, direction: 1, stops }] }).rows)).toEqual([]);
    expect(alignmentsOf(driven(none).rows)).toEqual([]);
  });

  it('had no satellites: by solution, by their number, and where rows are missing', () => {
    const { drive, rows } = driven({ outages: [{ leg: 0, fromMetres: 40, toMetres: 100 }] });
    const [{ from, to }] = drive.times.outages;
    for (const one of [rows, { ...rows, solution: null }]) {
      const [found, ...more] = outagesOf(one);
      expect(more).toEqual([]);
      expect(Math.abs(found.from - drive.stamp(from))).toBeLessThanOrEqual(0.1);
      expect(Math.abs(found.to - drive.stamp(to))).toBeLessThanOrEqual(0.1);
    }
    expect(outagesOf({ ...rows, solution: null, satellites: null })).toEqual([]);
    const kept = [...rows.time.keys()].filter((i) => i < 500 || i >= 540);
    const holed = { ...rows, epochs: kept.length, time: Float64Array.from(kept, (i) => rows.time[i]) };
    expect(outagesOf({ ...holed, solution: null, satellites: null })).toHaveLength(1);
  });
});

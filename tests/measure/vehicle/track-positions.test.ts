import { describe, expect, it } from 'vitest';
import type { Trajectory } from '../../../src/delivery/trajectory.js';
import { vehicleTrack } from '../../../src/delivery/vehicle-track.js';
import { positionsAt } from '../../../src/measure/vehicle/track-positions.js';
import { driveStreet } from '../../../src/simulate/drive/drive-street.js';
import { createStreet } from '../../../src/simulate/scene/street.js';
import { seeded } from '../../geometry/seeded.js';
import { simulatedTrajectory } from '../../simulated-trajectory.js';

const street = createStreet({ headingDegrees: 30 });
const drive = driveStreet({ street, from: 0, to: 80, legs: [{ lane: -2, direction: 1 }], alignmentBefore: null });
const trajectory = simulatedTrajectory([drive], { rate: 20 });
const [only] = trajectory.drives;

function at(of: Trajectory, times: readonly number[], lever?: readonly [number, number, number]) {
  const { east, north, up } = positionsAt(vehicleTrack(of, lever).shared, Float64Array.from(times), times.length);
  return times.map((_, i) => [east[i], north[i], up[i]].map((q) => q / 10_000));
}

/** A part of the drive, as a file of its own. */
const part = (from: number, to: number, name: string): Trajectory['drives'][number] => ({
  ...only,
  name,
  epochs: to - from,
  time: only.time.slice(from, to),
  x: only.x.slice(from, to),
  y: only.y.slice(from, to),
  z: only.z.slice(from, to),
});

describe('the place of the vehicle at a time', () => {
  it('is that of the exact motion within 1 mm: linear between rows of 20 Hz at 2 m/s² (a t² / 8 = 0.6 mm)', () => {
    const times = Array.from({ length: 400 }, (_, k) => (drive.times.legs[0].to * k) / 400);
    const found = at(trajectory, times.map(drive.stamp));
    const state = { u: 0, v: 0, direction: 0, speed: 0 };
    let off = 0;
    for (const [k, [x, y]] of found.entries()) {
      drive.motion.stateAt(times[k], state);
      const [u, v] = [state.u, state.v];
      off = Math.max(
        off,
        Math.hypot(
          x - (street.origin[0] + u * street.cos - v * street.sin),
          y - (street.origin[1] + u * street.sin + v * street.cos),
        ),
      );
    }
    expect(off).toBeLessThan(0.001);
  });

  it('is the same, bit for bit, in any order of times', () => {
    const random = seeded(4).uniform;
    const times = Array.from({ length: 500 }, () => only.time[0] + random() * 30);
    const walked = [...times].sort((a, b) => a - b);
    const forward = new Map(at(trajectory, walked).map((place, k) => [walked[k], place]));
    for (const [k, place] of at(trajectory, times).entries()) expect(place).toEqual(forward.get(times[k]));
  });

  it('is not known before and after a drive, in a hole, and where two drives have the same time', () => {
    const [begin, end] = [only.time[0], only.time[only.epochs - 1]];
    const known = (of: Trajectory, times: number[]) => at(of, times).map(([x]) => !Number.isNaN(x));
    expect(known(trajectory, [begin - 0.01, begin, end, end + 0.01, Number.NaN])).toEqual([
      false,
      true,
      true,
      false,
      false,
    ]);
    // Rows 100 to 199 are missing: 5 s, from row 99 to row 200.
    const holed = { drives: [part(0, 100, 'a'), part(200, 400, 'b')], notes: [] };
    const t = (row: number) => only.time[row];
    expect(known(holed, [t(50), t(99), t(99) + 0.01, t(150), t(200) - 0.01, t(200), t(300)])).toEqual([
      true,
      true,
      false,
      false,
      false,
      true,
      true,
    ]);
    const joined = { ...part(0, 300, 'c') };
    for (const name of ['time', 'x', 'y', 'z'] as const) {
      joined[name] = Float64Array.from([...only[name].slice(0, 100), ...only[name].slice(200, 400)]);
    }
    expect(known({ drives: [joined], notes: [] }, [t(99), t(150), t(200)])).toEqual([true, false, true]);
    const twice = { drives: [part(0, 200, 'a'), part(150, 400, 'b')], notes: [] };
    expect(known(twice, [t(100), t(160), t(199), t(250)])).toEqual([true, false, false, true]);
  });

  it('is moved by a lever arm, turned with the vehicle', () => {
    // A vehicle that drives east, level: forward is east, left is north. One that drives north: forward is north, left is west.
    const drivesTo = (heading: number, roll = 0): Trajectory => ({
      drives: [{ ...only, heading: only.time.map(() => heading), roll: only.time.map(() => roll), pitch: null }].map(
        (d) => ({ ...d, heading: Float32Array.from(d.heading), roll: Float32Array.from(d.roll) }),
      ),
      notes: [],
    });
    const moved = (of: Trajectory, lever: readonly [number, number, number]) => {
      const [[a], [b]] = [at(of, [only.time[40]]), at(of, [only.time[40]], lever)];
      return b.map((value, axis) => value - a[axis]);
    };
    const near = (found: number[], expected: number[]) =>
      expected.forEach((value, axis) => {
        expect(found[axis]).toBeCloseTo(value, 6);
      });
    near(moved(drivesTo(90), [1, 0.5, 0.2]), [1, 0.5, 0.2]);
    near(moved(drivesTo(0), [1, 0.5, 0.2]), [-0.5, 1, 0.2]);
    // Left side up by 90 degrees: what was left is up, and what was up is right, which is south.
    near(moved(drivesTo(90, 90), [0, 0.5, 0.2]), [0, -0.2, 0.5]);
  });

  it('is made once for a trajectory and a lever arm, in shared memory, with a digest of its content', () => {
    const track = vehicleTrack(trajectory);
    expect(vehicleTrack(trajectory)).toBe(track);
    expect(track.shared.time.buffer).toBeInstanceOf(SharedArrayBuffer);
    expect(track.digest).toMatch(/^[0-9a-f]{64}$/);
    expect(vehicleTrack({ ...trajectory }).digest).toBe(track.digest);
    expect(vehicleTrack(trajectory, [1, 0, 0]).digest).not.toBe(track.digest);
  });
});

import { describe, expect, it } from 'vitest';
import { jumpsOf } from '../../src/checks/trajectory/motion.js';
import { alignmentsOf, outagesOf } from '../../src/delivery/drive-events.js';
import { VehiclePoses } from '../../src/delivery/vehicle-poses.js';
import { fact } from '../../src/measure/fact-types.js';
import { mountingOffset, offsetsInVehicle } from '../../src/measure/passes/offsets-in-vehicle.js';
import { sumErrors } from '../../src/simulate/drive/drive-errors.js';
import { driveStreet, type VehicleDriveOptions } from '../../src/simulate/drive/drive-street.js';
import { FIRST_GPS_TIME } from '../../src/simulate/scene/drives.js';
import { Random } from '../../src/simulate/scene/random.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet, toLocal } from '../../src/simulate/scene/street.js';
import { measureScene } from '../checks/measured-scene.js';
import { simulatedTrajectory } from '../simulated-trajectory.js';

const street = createStreet({ origin: [0, 0], headingDegrees: 25, poleSpacing: 0, treeSpacing: 0, crossfall: 0.02 });
const LENGTH = 24;
const usual = {
  street,
  from: 0,
  to: LENGTH,
  speed: 3,
  legs: [{ lane: -2, direction: 1 }],
  pattern: { by: 'surface', spacing: 0.15 },
  alignmentBefore: { standSeconds: 30, loops: 2 },
  alignmentAfter: { standSeconds: 30, loops: 2 },
} as const satisfies VehicleDriveOptions;

/** What is allowed: 1 ms in time, 0.1 m in station, 1 mm in size or two standard deviations. */
const TIME = 0.001;
const STATION = 0.1;
const SIZE = 0.001;

/** A sound drive the other way, and the drive that a fault is planted in; the rows of its trajectory come 200 times a second. */
function planted(more: Partial<VehicleDriveOptions>, seed: number) {
  const sound = driveStreet({ ...usual, legs: [{ lane: 2, direction: -1 }] });
  const drive = driveStreet({ ...usual, startTime: FIRST_GPS_TIME + 900, firstSourceId: 2, ...more });
  const trajectory = simulatedTrajectory([sound, drive], { rate: 200 });
  return { sound, drive, trajectory, rows: trajectory.drives[1], poses: new VehiclePoses(trajectory), seed };
}

function measured({ sound, drive, seed }: ReturnType<typeof planted>, by: ('point-source-id' | 'scanner-channel')[]) {
  const passes = [...sound.passes, ...drive.passes];
  const points = scanToColumns({ street, passes, from: 0, to: LENGTH, noise: 0.003, seed });
  const asked = [
    fact('pass-pairs', { voxel: 0.5, minPoints: 8, area: null, walls: true }),
    fact('pass-times', { cell: 0.5 }),
  ] as const;
  const [{ pairs }, times] = measureScene(points, asked, { passes: { by } });
  return { pairs, times };
}

/** Metres along the street at which the vehicle truly is, and at which its trajectory has it. */
function stations({ drive, poses }: ReturnType<typeof planted>, time: number): [truly: number, found: number] {
  const state = { u: 0, v: 0, direction: 0, speed: 0 };
  drive.motion.stateAt(time - drive.stamp(0), state);
  const pose = { x: 0, y: 0, z: 0, east: 0, north: 0 };
  expect(poses.at(time, pose)).toBe(true);
  return [state.u, toLocal(street, pose.x, pose.y)[0]];
}

const onRow = (seconds: number) => Math.round(seconds * 20) / 20;

// The simulated drive is exact in time, place and size: it is the outside truth. The seed draws what is planted.
describe.each([4])('faults of a drive are found where they were planted (seed %i)', (seed) => {
  const random = new Random(seed);
  const sign = () => (random.uniform() < 0.5 ? -1 : 1);

  it('the drift of an outage: its begin and end, the places, and the size along, left and up', () => {
    const error = {
      along: sign() * random.between(0.02, 0.06),
      left: sign() * random.between(0.02, 0.06),
      up: sign() * random.between(0.02, 0.06),
    };
    const share = random.between(0.25, 0.35);
    const made = planted(
      {
        outages: ({ legs: [{ from, to }] }) => [
          { from: onRow(from + share * (to - from)), to: onRow(from + 0.75 * (to - from)), error, shape: 'smoothed' },
        ],
      },
      seed,
    );
    const { drive, rows, poses } = made;
    const [found, ...more] = outagesOf(rows);
    expect(more).toEqual([]);
    const [{ from, to }] = drive.times.outages;
    for (const [time, at] of [
      [found.from, drive.stamp(from)],
      [found.to, drive.stamp(to)],
    ]) {
      expect(Math.abs(time - at)).toBeLessThan(TIME);
      const [truly, seen] = stations(made, time);
      expect(Math.abs(seen - truly)).toBeLessThan(STATION);
    }
    // Two heads see a wall seconds apart: they are kept apart, and not compared with each other.
    const { pairs, times } = measured(made, ['point-source-id', 'scanner-channel']);
    const between = pairs.filter(({ a, b }) => a >> 2 !== b >> 2);
    const offsets = offsetsInVehicle(between, times, poses, { bin: 1, minCells: 10 });
    const known = new Float64Array(6);
    const off: number[] = [];
    for (const { time, ...axes } of offsets.filter(({ pass }) => pass >> 2 === 2).flatMap(({ bins }) => bins)) {
      const seconds = time - drive.stamp(0);
      // Bins over the begin or the end of the outage hold a part of it only.
      if (seconds < from ? seconds + 1 > from : seconds < to && seconds + 1 > to) continue;
      for (const [k, axis] of (['along', 'left', 'up'] as const).entries()) {
        const estimate = axes[axis];
        if (estimate === null) continue;
        sumErrors(drive.errors, estimate.at - drive.stamp(0), known);
        // Within a bin of a second the parabola lies below its tangent by up to its size / duration² (4 x 0.5²).
        const bend = known[k] === 0 ? 0 : Math.abs(error[axis]) / (to - from) ** 2;
        off.push((Math.abs(estimate.value - known[k]) - bend) / Math.max(SIZE, 2 * estimate.std));
      }
    }
    expect(off.length).toBeGreaterThan(9);
    // One in twenty lies beyond two standard deviations by chance, and next to none beyond six.
    expect(off.filter((share) => share > 1).length).toBeLessThanOrEqual(Math.ceil(off.length / 10));
    expect(off.filter((share) => share > 3)).toEqual([]);
  });

  it('the mounting error of a head: its angles', () => {
    const mountingError = [0, 1, 2].map(() => sign() * random.between(0.03, 0.08)) as [number, number, number];
    const made = planted({ heads: [{ yaw: 40 }, { yaw: -40, mountingError }] }, seed);
    const { pairs, times } = measured(made, ['point-source-id', 'scanner-channel']);
    const heads = pairs.find(({ a, b }) => a >> 2 === 2 && b >> 2 === 2)!;
    const offset = mountingOffset(heads, times, made.poses);
    for (const [k, axis] of (['roll', 'pitch', 'heading'] as const).entries()) {
      const { value, std } = offset[axis]!;
      // At 8 m, the distance of the fronts, 1 mm is 0.0072 degrees.
      const size = (SIZE / 8) * (180 / Math.PI);
      expect(Math.abs(value - mountingError[k])).toBeLessThan(Math.max(size, 2 * std));
    }
  });

  it('a jump of the trajectory: its time, its place and its size', () => {
    const along = sign() * random.between(0.3, 0.8);
    const share = random.between(0.3, 0.7);
    let at = 0;
    const made = planted(
      {
        errors: ({ legs: [leg], end }) => {
          at = onRow(leg.from + share * (leg.to - leg.from));
          return [{ from: at, to: end + 1, shape: 'constant', along, onlyInTrajectory: true }];
        },
      },
      seed,
    );
    // As read from a file: rows of 0.05 s are one epoch.
    const kept = [...made.rows.time.keys()].filter((i) => i % 10 === 0);
    const epochs = { ...made.rows, epochs: kept.length };
    for (const name of ['time', 'x', 'y', 'z'] as const)
      epochs[name] = Float64Array.from(kept, (i) => made.rows[name][i]);
    epochs.interval = Float32Array.from(kept, () => 0.05);
    const [jump] = [...jumpsOf(epochs)].sort((a, b) => b.metres - a.metres);
    const time = epochs.time[jump.epoch];
    expect(Math.abs(time - made.drive.stamp(at))).toBeLessThan(TIME);
    const [truly, seen] = stations(made, time);
    expect(Math.abs(seen - truly - along)).toBeLessThan(STATION);
    // Between two epochs the vehicle drives on: the jump is what is not explained by its speed.
    expect(Math.abs(jump.metres - Math.abs(along))).toBeLessThan(0.21);
  });

  it('a drive without its closing alignment', () => {
    const closed = planted({}, seed);
    const open = planted({ alignmentAfter: null }, seed);
    const end = ({ drive }: typeof open) => drive.stamp(drive.times.legs[0].to);
    expect(alignmentsOf(closed.rows).filter(({ to }) => to > end(closed))).toHaveLength(1);
    expect(alignmentsOf(open.rows).filter(({ to }) => to > end(open))).toHaveLength(0);
    expect(alignmentsOf(open.rows)).toHaveLength(1);
  });
});

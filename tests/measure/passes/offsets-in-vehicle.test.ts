import { describe, expect, it } from 'vitest';
import { VehiclePoses } from '../../../src/delivery/vehicle-poses.js';
import { fact } from '../../../src/measure/fact-types.js';
import { mountingOffset, offsetsInVehicle } from '../../../src/measure/passes/offsets-in-vehicle.js';
import { driveStreet, type VehicleDriveOptions } from '../../../src/simulate/drive/drive-street.js';
import { scanToColumns } from '../../../src/simulate/scene/scanner.js';
import { createStreet } from '../../../src/simulate/scene/street.js';
import { measureScene } from '../../checks/measured-scene.js';
import { simulatedTrajectory } from '../../simulated-trajectory.js';

const street = createStreet({ origin: [0, 0], headingDegrees: 25, poleSpacing: 0, treeSpacing: 0 });

function measured(more: Partial<VehicleDriveOptions>, by: ('point-source-id' | 'scanner-channel')[]) {
  const drive = driveStreet({
    street,
    from: 0,
    to: 24,
    legs: [
      { lane: -2, direction: 1 },
      { lane: 2, direction: -1 },
    ],
    speed: 4,
    alignmentBefore: null,
    alignmentAfter: null,
    pattern: { by: 'surface', spacing: 0.12 },
    ...more,
  });
  const points = scanToColumns({ street, passes: drive.passes, from: 0, to: 24, noise: 0.003, seed: 6 });
  const [{ pairs }, times] = measureScene(
    points,
    [fact('pass-pairs', { voxel: 0.5, minPoints: 8, area: null, walls: true }), fact('pass-times', { cell: 0.5 })],
    { passes: { by } },
  );
  return { drive, pairs, times, poses: new VehiclePoses(simulatedTrajectory([drive], { rate: 20 })) };
}

/** Within 1 mm, or two standard deviations. */
function near(found: { value: number; std: number } | null, planted: number, floor = 0.001): void {
  expect(found).not.toBeNull();
  expect(Math.abs(found!.value - planted)).toBeLessThan(Math.max(floor, 2 * found!.std));
}

// What is planted is exact: the scene is the outside reference.
describe('offsets in the frame of the vehicle', () => {
  it('show the error of a drive along, left and up, of the direction in which it was driven', () => {
    const planted = { along: 0.03, left: -0.02, up: 0.015 };
    const { pairs, times, poses } = measured(
      { errors: ({ legs }) => [{ ...planted, ...legs[1], shape: 'constant' }] },
      ['point-source-id'],
    );
    const [, second] = offsetsInVehicle(pairs, times, poses, { bin: 2, minCells: 10 });
    expect(second.pass).toBe(2);
    expect(second.bins.length).toBeGreaterThan(3);
    const whole = second.bins.filter(({ along, left, up }) => along !== null && left !== null && up !== null);
    expect(whole.length).toBeGreaterThan(1);
    for (const { along, left, up } of whole) {
      near(along, planted.along, 0.0015);
      near(left, planted.left, 0.0015);
      near(up, planted.up);
    }
  });

  it('show how one scanner head is mounted against the other, with angles', () => {
    const mountingError = [0.06, -0.05, 0.08] as const;
    const { pairs, times, poses } = measured({ heads: [{ yaw: 40 }, { yaw: -40, mountingError }] }, [
      'point-source-id',
      'scanner-channel',
    ]);
    const heads = pairs.find(({ a, b }) => a >> 2 === b >> 2)!;
    const offset = mountingOffset(heads, times, poses);
    for (const [axis, planted] of [
      ['roll', 0.06],
      ['pitch', -0.05],
      ['heading', 0.08],
    ] as const)
      near(offset[axis], planted, 0.004);
  });

  it('are not given where nothing shows them: a bare road shows neither along nor left', () => {
    const open = createStreet({
      origin: [0, 0],
      left: 'open',
      right: 'open',
      poleSpacing: 0,
      treeSpacing: 0,
      kerbHeight: 0.001,
    });
    const drive = driveStreet({
      street: open,
      from: 0,
      to: 16,
      legs: [
        { lane: -2, direction: 1 },
        { lane: 2, direction: -1 },
      ],
      speed: 4,
      alignmentBefore: null,
      alignmentAfter: null,
      pattern: { by: 'surface', spacing: 0.15 },
    });
    const points = scanToColumns({ street: open, passes: drive.passes, from: 0, to: 16, noise: 0.003, seed: 6 });
    const [{ pairs }, times] = measureScene(points, [
      fact('pass-pairs', { voxel: 0.5, minPoints: 8, area: null, walls: true }),
      fact('pass-times', { cell: 0.5 }),
    ]);
    const poses = new VehiclePoses(simulatedTrajectory([drive], { rate: 20 }));
    const [first] = offsetsInVehicle(pairs, times, poses, { bin: 1, minCells: 10 });
    expect(first.bins.length).toBeGreaterThan(2);
    for (const { along, left, up } of first.bins) {
      expect([along, left]).toEqual([null, null]);
      near(up, 0, 0.002);
    }
  });
});

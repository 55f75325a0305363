import { describe, expect, it } from 'vitest';
import { vehicleTrack } from '../../src/delivery/vehicle-track.js';
import { fact } from '../../src/measure/fact-types.js';
import { driveStreet } from '../../src/simulate/drive/drive-street.js';
import { SCANNER_HEIGHT } from '../../src/simulate/scene/scan-options.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet, groundHeight, toWorld } from '../../src/simulate/scene/street.js';
import { measureScene } from '../checks/measured-scene.js';
import { simulatedTrajectory } from '../simulated-trajectory.js';

const street = createStreet({ headingDegrees: 15, poleSpacing: 0, treeSpacing: 0 });
const drive = driveStreet({
  street,
  from: 0,
  to: 12,
  legs: [{ lane: -2, direction: 1 }],
  alignmentBefore: null,
  alignmentAfter: null,
  lineSpacing: 0.4,
  pattern: { by: 'surface', spacing: 0.5 },
});
const points = scanToColumns({ street, passes: drive.passes, from: 0, to: 12, noise: 0, seed: 3 });
const trajectory = simulatedTrajectory([drive], { rate: 200 });
const measure = (of = trajectory, limit = 7) =>
  measureScene(points, [fact('range-cells', { cell: 1, limit, track: vehicleTrack(of) })])[0];

describe('range-cells', () => {
  it('has the distance of every point from where the vehicle truly was, by cell', () => {
    const [found] = measure();
    expect(found.pass).toBe(1);
    // The exact motion, point by point: an independent way from the rows of the trajectory.
    const cells = new Map<string, { points: number; beyond: number; sum: number; nearest: number; above: number }>();
    const state = { u: 0, v: 0, direction: 0, speed: 0 };
    for (let i = 0; i < points.count; i++) {
      drive.motion.stateAt(points.gpsTime[i] - drive.stamp(0), state);
      const [x, y] = toWorld(street, state.u, state.v);
      const z = groundHeight(street, state.u, state.v) + SCANNER_HEIGHT;
      const range = Math.hypot(points.x[i] - x, points.y[i] - y, points.z[i] - z);
      const key = `${Math.floor(points.x[i])} ${Math.floor(points.y[i])}`;
      const cell = cells.get(key) ?? { points: 0, beyond: 0, sum: 0, nearest: Infinity, above: 0 };
      cell.points++;
      if (range > 7) cell.beyond++;
      cell.sum += range;
      cell.nearest = Math.min(cell.nearest, range);
      cell.above += z - points.z[i];
      cells.set(key, cell);
    }
    expect(found.column.length).toBe(cells.size);
    for (let k = 0; k < found.column.length; k++) {
      const cell = cells.get(`${found.column[k]} ${found.row[k]}`)!;
      expect([found.points[k], found.beyond[k], found.unplaced[k]]).toEqual([cell.points, cell.beyond, 0]);
      // 0.1 mm is the step of what is summed.
      expect(Math.abs(found.nearest[k] - cell.nearest)).toBeLessThan(0.0002);
      expect(Math.abs(found.mean[k] - cell.sum / cell.points)).toBeLessThan(0.0002);
      expect(Math.abs(found.above[k] - cell.above / cell.points)).toBeLessThan(0.0002);
    }
  });

  it('counts points at whose time there is no position, and gives them no distance', () => {
    const [{ time, epochs }] = trajectory.drives;
    const half = Math.floor(epochs / 2);
    const short = { drives: [{ ...trajectory.drives[0], epochs: half }], notes: [] };
    const [found] = measure(short);
    let without = 0;
    for (let i = 0; i < points.count; i++) if (points.gpsTime[i] > time[half - 1] + 1e-6) without++;
    const sum = (values: Uint32Array) => values.reduce((all, n) => all + n, 0);
    expect(without).toBeGreaterThan(100);
    expect(sum(found.unplaced)).toBe(without);
    expect(sum(found.points)).toBe(points.count - without);
  });
});

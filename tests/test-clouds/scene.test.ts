import { sampleStandardDeviation } from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { FIRST_GPS_TIME, usualDrives } from '../../src/simulate/scene/drives.js';
import type { PassFaults } from '../../src/simulate/scene/pass-faults.js';
import { Random } from '../../src/simulate/scene/random.js';
import type { ScanOptions } from '../../src/simulate/scene/scan-options.js';
import { scanStreet, scanToColumns } from '../../src/simulate/scene/scanner.js';
import type { Street } from '../../src/simulate/scene/street.js';
import { createStreet, recessOf, surfaceHeight, toLocal, toWorld } from '../../src/simulate/scene/street.js';
import { surveyPoints } from '../../src/simulate/scene/survey.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';

const street = createStreet({ headingDegrees: 17, right: 'quay' });
const drives = usualDrives({ passes: 2, density: 60 });
const base: ScanOptions = { street, passes: drives, from: -12, to: 12, seed: 5 };

/** Distance of a ground point from the true surface along its normal; null within 2 cm of kerb or wall. */
function residual(scene: Street, points: SceneColumns, i: number): number | null {
  const [, v] = toLocal(scene, points.x[i], points.y[i]);
  const half = scene.roadWidth / 2;
  if (Math.abs(Math.abs(v) - half) < 0.02) return null;
  const truth = surfaceHeight(scene, points.x[i], points.y[i]);
  if (truth === null) return null;
  const rise = Math.abs(v) < half ? scene.crossfall : scene.pavementFall;
  return (points.z[i] - truth) / Math.sqrt(1 + rise * rise + scene.grade * scene.grade);
}

function groundResiduals(scene: Street, points: SceneColumns): number[] {
  const out: number[] = [];
  for (let i = 0; i < points.count; i++) {
    const kind = points.classification[i];
    if (kind !== 2 && kind !== 11) continue;
    const [, v] = toLocal(scene, points.x[i], points.y[i]);
    // Kerb faces and the feet of walls belong to class 2 as well but not to a level surface.
    if (Math.abs(Math.abs(v) - scene.roadWidth / 2) < 0.02 || Math.abs(v) > scene.sideOffset - 0.05) continue;
    const value = residual(scene, points, i);
    if (value !== null) out.push(value);
  }
  return out;
}

describe('the street', () => {
  // Common practice in road design: the crossfall falls to one side, the grade runs along; both are planes.
  it('has a crossfall of 2.5 %, a grade of 0.6 % and a 12 cm kerb', () => {
    const level = createStreet({ headingDegrees: 30 });
    const at = (u: number, v: number) => surfaceHeight(level, ...toWorld(level, u, v)) as number;
    expect(at(0, 1) - at(0, -1)).toBeCloseTo(-0.05, 9);
    expect(at(10, 0) - at(0, 0)).toBeCloseTo(0.06, 9);
    expect(at(0, 4.000001) - at(0, 3.999999)).toBeCloseTo(0.12, 6);
    expect(at(0, 0)).toBeCloseTo(3.2, 9);
  });

  it('has no surface in the houses nor beyond the quay edge, but has one in the recesses', () => {
    expect(surfaceHeight(street, ...toWorld(street, 0.1, 9))).toBeNull();
    expect(surfaceHeight(street, ...toWorld(street, 0, -6.6))).toBeNull();
    const recess = recessOf(street, true, 0);
    const middle = (recess.from + recess.to) / 2;
    expect(surfaceHeight(street, ...toWorld(street, middle, 6.5 + recess.depth / 2))).not.toBeNull();
    expect(surfaceHeight(street, ...toWorld(street, recess.from - 0.1, 6.6))).toBeNull();
  });

  it('turns to the world and back', () => {
    const [u, v] = toLocal(street, ...toWorld(street, 12.3, -4.5));
    expect([u, v][0]).toBeCloseTo(12.3, 8);
    expect(v).toBeCloseTo(-4.5, 8);
  });
});

describe('the scanner', () => {
  it('lies on the surface exactly when it has no noise', () => {
    const points = scanToColumns({ ...base, noise: 0, resolution: null });
    const residuals = groundResiduals(street, points);
    expect(residuals.length).toBeGreaterThan(20_000);
    expect(Math.max(...residuals.map(Math.abs))).toBeLessThan(1e-8);
  });

  it('puts every wall point on the front, the back or a side of a recess when it has no noise', () => {
    const points = scanToColumns({ ...base, noise: 0, resolution: null });
    const seen = { front: 0, back: 0, sideA: 0, sideB: 0 };
    for (let i = 0; i < points.count; i++) {
      if (points.classification[i] !== 6) continue;
      const [u, v] = toLocal(street, points.x[i], points.y[i]);
      const recess = recessOf(street, true, Math.floor(u / street.bayLength));
      const near = (a: number, b: number) => Math.abs(a - b) < 1e-6;
      if (near(v, 6.5)) seen.front++;
      else if (near(v, 6.5 + recess.depth)) seen.back++;
      else if (near(u, recess.from)) seen.sideA++;
      else if (near(u, recess.to)) seen.sideB++;
      else expect.fail(`wall point ${i} stands in the air at ${u} ${v}`);
    }
    // Walls along and across the street, both sides of a recess: every horizontal axis is observable.
    for (const count of Object.values(seen)) expect(count).toBeGreaterThan(500);
  });

  it('has the noise it claims along the normal of the ground, normally distributed', () => {
    const points = scanToColumns({ ...base, noise: 0.006, resolution: null });
    const residuals = groundResiduals(street, points);
    const n = residuals.length;
    const sigma = sampleStandardDeviation(residuals);
    // Standard error of a standard deviation: sigma / sqrt(2 n); of a mean: sigma / sqrt n. Four of them.
    expect(Math.abs(sigma - 0.006)).toBeLessThan((4 * 0.006) / Math.sqrt(2 * n));
    expect(Math.abs(residuals.reduce((a, b) => a + b, 0) / n)).toBeLessThan((4 * 0.006) / Math.sqrt(n));
    // 68.27 % and 95.45 % of a normal distribution lie within one and two sigma.
    const within = (k: number) => residuals.filter((r) => Math.abs(r) < k * 0.006).length / n;
    expect(within(1)).toBeCloseTo(0.6827, 1.7);
    expect(within(2)).toBeCloseTo(0.9545, 1.7);
  });

  it('has less noise in height than along the beam when the beam carries it', () => {
    const points = scanToColumns({ ...base, noise: 0.006, noiseAlong: 'beam', resolution: null });
    const sigma = sampleStandardDeviation(groundResiduals(street, points));
    expect(sigma).toBeGreaterThan(0.002);
    expect(sigma).toBeLessThan(0.0055);
  });

  it('stays on a crowned road too', () => {
    const crowned = createStreet({ crowned: true });
    const points = scanToColumns({ ...base, street: crowned, noise: 0, resolution: null });
    const residuals = groundResiduals(crowned, points);
    expect(Math.max(...residuals.map(Math.abs))).toBeLessThan(1e-8);
    expect(surfaceHeight(crowned, ...toWorld(crowned, 0, 2))).toBeCloseTo(3.15, 9);
    expect(surfaceHeight(crowned, ...toWorld(crowned, 0, -2))).toBeCloseTo(3.15, 9);
  });

  it('runs in scan-line order: time rises, neighbours in time are neighbours in space', () => {
    const points = scanToColumns({ ...base, passes: [drives[0]], noise: 0 });
    const steps: number[] = [];
    let backwards = 0;
    for (let i = 1; i < points.count; i++) {
      if (points.gpsTime[i] < points.gpsTime[i - 1]) backwards++;
      if (points.gpsTime[i] > points.gpsTime[i - 1] && points.scannerChannel[i] === points.scannerChannel[i - 1]) {
        steps.push(
          Math.hypot(points.x[i] - points.x[i - 1], points.y[i] - points.y[i - 1], points.z[i] - points.z[i - 1]),
        );
      }
    }
    expect(backwards).toBe(0);
    steps.sort((a, b) => a - b);
    expect(steps[Math.floor(steps.length / 2)]).toBeLessThan(0.25);
    expect(new Set(points.scannerChannel.subarray(0, points.count))).toEqual(new Set([0, 1]));
    // 10 m/s and two heads with a line every 0.2 m each: 100 lines a second.
    expect((2 * drives[0].speed) / drives[0].lineSpacing).toBeCloseTo(100, 6);
  });

  it('has consecutive points a few millimetres apart at the density of a real scanner', () => {
    const dense = usualDrives({ passes: 1, density: 4000, pattern: 'angle' });
    const points = scanToColumns({ ...base, passes: dense, from: 0, to: 1, noise: 0, resolution: null });
    const steps: number[] = [];
    for (let i = 1; i < points.count; i++) {
      if (points.classification[i] !== 11 || points.classification[i - 1] !== 11) continue;
      steps.push(Math.hypot(points.x[i] - points.x[i - 1], points.y[i] - points.y[i - 1]));
    }
    steps.sort((a, b) => a - b);
    const median = steps[Math.floor(steps.length / 2)];
    expect(median).toBeGreaterThan(0.001);
    expect(median).toBeLessThan(0.03);
  });

  it('numbers the returns of a pulse from 1 up, at one time (LAS 1.4 R16, section 2.6: same GPS time)', () => {
    const scene = createStreet();
    const points = scanToColumns({ ...base, street: scene, from: -30, to: 30 });
    let pulses = 0;
    let wrong = 0;
    for (let i = 0; i < points.count; i++) {
      if (points.returnNumber[i] < 1 || points.returnNumber[i] > points.returnCount[i]) wrong++;
      // At the very ends a pulse may have returns on either side of the edge of the scene.
      if (points.returnNumber[i] < 2 || Math.abs(toLocal(scene, points.x[i], points.y[i])[0]) > 27) continue;
      pulses++;
      expect(points.returnNumber[i - 1]).toBe(points.returnNumber[i] - 1);
      expect(points.gpsTime[i]).toBe(points.gpsTime[i - 1]);
      expect(points.returnCount[i]).toBe(points.returnCount[i - 1]);
    }
    expect(wrong).toBe(0);
    expect(pulses).toBeGreaterThan(500);
    expect(new Set(points.classification.subarray(0, points.count))).toEqual(new Set([1, 2, 5, 6, 11]));
  });

  it('has the density asked for on the carriageway, within 3 %', () => {
    const points = scanToColumns(base);
    let inside = 0;
    for (let i = 0; i < points.count; i++) {
      const [u, v] = toLocal(street, points.x[i], points.y[i]);
      if (Math.abs(u) < 10 && Math.abs(v) < 3.9) inside++;
    }
    const density = inside / (20 * 7.8) / drives.length;
    expect(Math.abs(density / 60 - 1)).toBeLessThan(0.03);
  });

  it('gives the same points for the same seed, other points for another, whatever the block size', () => {
    const a = scanToColumns(base);
    const b = scanToColumns({ ...base, blockPoints: 777 });
    const c = scanToColumns({ ...base, seed: 6 });
    const bytes = (set: SceneColumns) => Buffer.from(set.z.buffer, 0, set.count * 8);
    expect(b.count).toBe(a.count);
    expect(Buffer.compare(bytes(a), bytes(b))).toBe(0);
    expect(Buffer.compare(bytes(a), bytes(c))).not.toBe(0);
    let blocks = 0;
    const total = scanStreet({ ...base, blockPoints: 777 }, (block) => {
      expect(block.count).toBeLessThanOrEqual(777);
      blocks++;
    });
    expect(total).toBe(a.count);
    expect(blocks).toBe(Math.ceil(total / 777));
  });
});

describe('faults of a pass', () => {
  const exact = { ...base, noise: 0, resolution: null, passes: [drives[0]] };
  const clean = scanToColumns(exact);
  const faulty = (faults: PassFaults) => {
    const points = scanToColumns({ ...exact, passes: [{ ...drives[0], faults }] });
    expect(points.count).toBe(clean.count);
    return points;
  };
  const largest = (difference: (i: number) => number) => {
    let most = 0;
    for (let i = 0; i < clean.count; i++) most = Math.max(most, Math.abs(difference(i)));
    return most;
  };
  const seconds = (i: number) => clean.gpsTime[i] - FIRST_GPS_TIME;

  it('shifts every point by exactly the vector planted', () => {
    const points = faulty({ shift: [0.03, -0.02, 0.025] });
    expect(largest((i) => points.x[i] - clean.x[i] - 0.03)).toBeLessThan(1e-8);
    expect(largest((i) => points.y[i] - clean.y[i] + 0.02)).toBeLessThan(1e-8);
    expect(largest((i) => points.z[i] - clean.z[i] - 0.025)).toBeLessThan(1e-9);
  });

  it('drifts at a steady rate between two times and stays there', () => {
    const points = faulty({ drift: { from: 2, to: 3, metresPerSecond: 0.03 } });
    const planted = (i: number) => 0.03 * Math.min(1, Math.max(0, seconds(i) - 2));
    expect(largest((i) => points.z[i] - clean.z[i] - planted(i))).toBeLessThan(1e-8);
    expect(largest((i) => points.x[i] - clean.x[i])).toBe(0);
    expect(seconds(clean.count - 1)).toBeGreaterThan(3);
    expect(seconds(0)).toBeLessThan(2);
  });

  it('steps in time and height after a gap', () => {
    const points = faulty({ step: { at: 2.5, gapSeconds: 20, dz: -0.04 } });
    const late = (i: number) => (seconds(i) >= 2.5 ? 1 : 0);
    expect(largest((i) => points.gpsTime[i] - clean.gpsTime[i] - 20 * late(i))).toBeLessThan(1e-6);
    expect(largest((i) => points.z[i] - clean.z[i] + 0.04 * late(i))).toBeLessThan(1e-9);
    const widest = largest((i) => (i > 0 ? points.gpsTime[i] - points.gpsTime[i - 1] : 0));
    expect(widest).toBeGreaterThanOrEqual(20);
    expect(widest).toBeLessThan(20.1);
  });

  it('rolls the beam about the track: lift grows with the distance from it, ranges stay', () => {
    const roll = 0.002;
    const points = faulty({ rollRadians: roll });
    for (let i = 0; i < points.count; i += 7) {
      if (clean.classification[i] !== 11) continue;
      const [, v] = toLocal(street, clean.x[i], clean.y[i]);
      const lift = points.z[i] - clean.z[i];
      // Small angle: dz = roll x lever arm, second order roll^2 / 2 x height.
      expect(Math.abs(lift - roll * (v - drives[0].lane))).toBeLessThan(1e-5);
    }
  });
});

describe('survey points', () => {
  const options = { count: 34, role: 'check', prefix: 'CP', uFrom: -23, uTo: 23, vFrom: -3, vTo: 3, seed: 2 } as const;

  it('stand on the true surface to half a millimetre, in every quarter, a metre apart', () => {
    const points = surveyPoints(street, { ...options, sigma: 0 });
    expect(points.length).toBe(34);
    const quarters = [0, 0, 0, 0];
    for (const p of points) {
      expect(Math.abs(p.z - (surfaceHeight(street, p.x, p.y) as number))).toBeLessThan(0.00055);
      const [u, v] = toLocal(street, p.x, p.y);
      quarters[(u > 0 ? 1 : 0) + (v > 0 ? 2 : 0)]++;
      for (const q of points) if (p !== q) expect(Math.hypot(p.x - q.x, p.y - q.y)).toBeGreaterThanOrEqual(1);
    }
    // At least 20 % in each quadrant: ASPRS accuracy standards, edition 1 guidance (from memory).
    for (const count of quarters) expect(count / 34).toBeGreaterThanOrEqual(0.2);
  });

  it('scatter by the sigma of the survey', () => {
    const points = surveyPoints(street, { ...options, count: 400, uFrom: -200, uTo: 200, sigma: 0.004 });
    const errors = points.map((p) => p.z - p.truth);
    expect(Math.abs(sampleStandardDeviation(errors) - 0.004)).toBeLessThan((4 * 0.004) / Math.sqrt(2 * 400));
  });
});

describe('random numbers', () => {
  it('are uniform by the chi-square test at 99.9 %', () => {
    const random = new Random(12);
    const bins = new Array<number>(100).fill(0);
    for (let k = 0; k < 100_000; k++) bins[Math.floor(random.uniform() * 100)]++;
    const chiSquare = bins.reduce((sum, n) => sum + (n - 1000) ** 2 / 1000, 0);
    // chi-square(0.999, 99) = 148.23, from standard tables (memory); 0.001 quantile 60.4.
    expect(chiSquare).toBeLessThan(148.23);
    expect(chiSquare).toBeGreaterThan(60);
  });

  it('never change for a seed', () => {
    const random = new Random(1);
    const first = [random.word(), random.word(), random.word()];
    const again = new Random(1);
    expect([again.word(), again.word(), again.word()]).toEqual(first);
    expect(new Set(first).size).toBe(3);
    expect(new Random(2).word()).not.toBe(first[0]);
  });
});

import { describe, expect, it } from 'vitest';
import { surfacePrecision } from '../../src/checks/surface-precision.js';
import { fact } from '../../src/measure/fact-types.js';
import type { PassSurface } from '../../src/measure/pass-surfaces.js';
import { type SwathPrecision, slopeCorrectedRange } from '../../src/measure/swath-precision.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { densityPatch } from '../../test-clouds/scene/density-patch.js';
import { judge, squareZone } from './judge.js';
import { inUnit, measureScene, moved } from './measured-scene.js';

const PLANES = fact('pass-surfaces', { voxel: 0.5, minPoints: 10 });
const CELLS = fact('swath-precision', { cell: 2, minPoints: 10 });

function surfaces(points: SceneColumns, options = {}): PassSurface[] {
  return measureScene(points, [PLANES], options)[0];
}

/** A level patch of 12 m x 12 m, 600 points a square metre, and what is done to the heights. */
function patch(height: (x: number, y: number) => number, noise = 0.004): SceneColumns {
  const origin = [561_000, 5_932_000] as const;
  const points = densityPatch({ origin, columns: 24, rows: 24, cell: 0.5, perCell: 150, noise, seed: 5 });
  for (let i = 0; i < points.count; i++) points.z[i] += height(points.x[i] - origin[0], points.y[i] - origin[1]);
  return points;
}

describe('surface-precision by planes, on simulated surfaces', () => {
  const street = createStreet({ headingDegrees: 17 });
  const scan = (noise: number) =>
    scanToColumns({ street, passes: usualDrives({ passes: 2, density: 400 }), from: 0, to: 20, noise, seed: 3 });

  it.each([0.003, 0.006, 0.02])('a scanner noise of %f m comes back within 2 percent from every pass', (noise) => {
    const verdict = judge(surfacePrecision, { maxRms: 0.03, minCells: 50 }, { planes: surfaces(scan(noise)) });
    expect(verdict.state).toBe('pass');
    // Coordinates are rounded to 1 mm: a uniform error of 1/12 mm2 along the vertical.
    const expected = Math.hypot(noise, 0.001 / Math.sqrt(12));
    for (const row of (verdict.evidence[1] as { rows: number[][] }).rows) {
      expect(row[3]).toBeGreaterThan(300);
      expect(Math.abs(row[4] / expected - 1)).toBeLessThan(0.02);
    }
  });

  it('kerbs, walls, posts and leaves do not count as rough road', () => {
    const [first] = surfaces(scan(0.006));
    // A noise of 6 mm: the roughest of some thousand patches of 30 points and more stays under twice that.
    expect(Math.sqrt(Math.max(...first.variance))).toBeLessThan(0.012);
    // The 12 cm kerb, the feet of posts and trees and the walls are level patches in part, but in no smooth window.
    expect(Math.max(...first.range)).toBeLessThan(0.012);
    expect(first.variance.length).toBeGreaterThan(first.level / 3);
  });

  it('a slope is taken off, a wave of known height is not', () => {
    const slope = surfaces(patch((x, y) => 0.03 * x - 0.02 * y));
    expect(Math.max(...slope[0].range)).toBeLessThan(0.003);
    // A wave of 2 m length and 20 mm from trough to crest. A plane over 0.5 m averages it by sin(pi/4) / (pi/4) = 0.900.
    const wave = surfaces(patch((x) => 0.01 * Math.sin(Math.PI * x), 0.001));
    const verdict = judge(surfacePrecision, { maxRange: 0.008 }, { planes: wave });
    expect(verdict.state).toBe('fail');
    const found = verdict.measured.range.value!;
    // Crest in the middle of the window: heights 0, 9.0 mm, 0, no slope, so 9.0 mm from peak to peak, and some noise.
    expect(found).toBeGreaterThan(0.0085);
    expect(found).toBeLessThan(0.0105);
  });

  it('a step in mid-pass is found where it is', () => {
    const verdict = judge(
      surfacePrecision,
      { maxRange: 0.006 },
      { planes: surfaces(patch((x) => (x > 6.2 ? 0.015 : 0), 0.002)) },
    );
    expect(verdict.state).toBe('fail');
    const [worst] = verdict.evidence[0].kind === 'locations' ? verdict.evidence[0].items : [];
    expect(Math.abs(worst.x - 561_006.2)).toBeLessThan(0.8);
  });

  it('moving the delivery by a whole vector changes nothing beyond 0.1 mm; feet change nothing in metres', () => {
    const points = scan(0.006);
    const figures = (scene: SceneColumns, options = {}) =>
      judge(surfacePrecision, { maxRms: 1 }, { planes: surfaces(scene, options) }).measured;
    const here = figures(points);
    const there = figures(moved(points, [-1234.37, 987.13, 45.21]));
    const feet = figures(inUnit(points, 0.3048), { horizontalUnit: 0.3048, heightUnit: 0.3048 });
    for (const name of ['rms', 'p95'] as const) {
      expect(Math.abs(there[name].value! - here[name].value!)).toBeLessThan(0.0001);
      expect(Math.abs(feet[name].value! - here[name].value!)).toBeLessThan(0.00002);
    }
  });
});

describe('surface-precision by cells: the published within-swath method', () => {
  it('follows Precision = Range - Slope * CellSize * 1.414', () => {
    // Worked out from the formula: 0.10 - 0.02 * 2 * 1.414.
    expect(slopeCorrectedRange(0.1, 0.02, 2)).toBeCloseTo(0.04344, 12);
  });

  it('gives the range of an even slope with known heights', () => {
    // 5 x 5 cells of 2 m, every cell with points at its four corners and in the middle: rise 0.02 along x, 0.004 apart.
    const points = densityPatch({ origin: [0, 0], columns: 5, rows: 5, cell: 2, perCell: 12, seed: 1 });
    for (let i = 0; i < points.count; i++) {
      const k = i % 12;
      const column = Math.floor(points.x[i] / 2);
      const row = Math.floor(points.y[i] / 2);
      points.x[i] = 2 * column + (k % 2 === 0 ? 0 : 1.9);
      points.y[i] = 2 * row + (k % 4 < 2 ? 0 : 1.9);
      points.z[i] = 10 + 0.02 * points.x[i] + (k < 6 ? 0 : 0.004);
    }
    const [pass] = measureScene(points, [CELLS])[0];
    // The outer cells have no eight neighbours.
    expect(pass.precision).toHaveLength(9);
    // Range 0.02 * 1.9 + 0.004; lowest points rise 0.04 in 2 m.
    // biome-ignore lint/suspicious/noApproximativeNumericConstant: the printed factor of the specification
    for (const p of pass.precision) expect(p).toBeCloseTo(0.042 - 0.02 * 2 * 1.414, 9);
  });

  it('takes pulses with a single return only', () => {
    const points = densityPatch({ origin: [0, 0], columns: 5, rows: 5, cell: 2, perCell: 40, seed: 1, noise: 0.002 });
    for (let i = 0; i < points.count; i += 4) {
      points.returnCount[i] = 2;
      points.z[i] += 3;
    }
    const [pass] = measureScene(points, [CELLS])[0];
    expect(Math.max(...pass.precision)).toBeLessThan(0.02);
  });

  it('is judged like the planes, with its own words', () => {
    const pass: SwathPrecision = {
      pass: 1,
      x: Float64Array.from({ length: 120 }, (_, i) => i * 2 + 1),
      y: new Float64Array(120),
      z: new Float64Array(120),
      precision: Float64Array.from({ length: 120 }, (_, i) => (i === 77 ? 0.07 : 0.03)),
    };
    const verdict = judge(surfacePrecision, { method: 'cells', maxRms: 0.06, maxRange: 0.06 }, { cells: [pass] });
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.rms.value).toBeCloseTo(Math.sqrt((119 * 0.03 ** 2 + 0.07 ** 2) / 120), 12);
    expect(verdict.measured.range.value).toBe(0.07);
    expect(verdict.summary).toContain('70.0 mm (limit 60.0 mm)');
    const [worst] = verdict.evidence[0].kind === 'locations' ? verdict.evidence[0].items : [];
    expect(worst).toMatchObject({ x: 155, value: 0.07 });
  });
});

/** `count` patches along x, one a metre, all with the same RMS; one of them in a wave. */
function surface(pass: number, rms: number, count = 400): PassSurface {
  return {
    pass,
    level: count + 50,
    rough: 7,
    x: Float64Array.from({ length: count }, (_, i) => i + 0.5),
    y: new Float64Array(count).fill(0.5),
    z: new Float64Array(count),
    points: new Float64Array(count).fill(40),
    variance: new Float64Array(count).fill(rms * rms),
    range: Float64Array.from({ length: count }, (_, i) => (i === 250 ? 0.02 : 0.004)),
  };
}

describe('surface-precision, judged', () => {
  it('names the pass that is worst and how many exceed', () => {
    const verdict = judge(
      surfacePrecision,
      { maxRms: 0.01 },
      { planes: [surface(1, 0.004), surface(2, 0.012), surface(3, 0.011)] },
    );
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toBe('Within source 2: RMS 12.0 mm (limit 10.0 mm); 2 of 3 passes exceed a limit.');
    expect(verdict.measured).toMatchObject({ passes: { value: 3 }, cells: { value: 1200 } });
    expect(verdict.causes![0].text).toContain('scanner heads');
  });

  it('looks inside the zone only', () => {
    const zones = [squareZone('near', 0, 0, 200, 1)];
    const options = { maxRange: 0.01 };
    expect(judge(surfacePrecision, options, { planes: [surface(1, 0.004)] }).state).toBe('fail');
    const verdict = judge(surfacePrecision, { ...options, zone: 'near' }, { planes: [surface(1, 0.004)] }, { zones });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.cells.value).toBe(200);
  });

  it('pools mean squares by the degrees of freedom of the patches', () => {
    const one = surface(1, 0.004, 2);
    one.points = Float64Array.of(13, 43);
    one.variance = Float64Array.of(0.004 ** 2, 0.008 ** 2);
    const verdict = judge(surfacePrecision, { maxRms: 1, minCells: 1 }, { planes: [one] });
    expect(verdict.measured.rms.value).toBeCloseTo(Math.sqrt((10 * 0.004 ** 2 + 40 * 0.008 ** 2) / 50), 15);
  });

  it('a guarded decision is left open while the limit lies within the bounds', () => {
    const wide = surface(1, 0.01, 100);
    wide.variance = wide.variance.map((v, i) => v * (i % 2 === 0 ? 0.2 : 1.8));
    const options = { maxRms: 0.0101, decision: 'guarded' };
    const verdict = judge(surfacePrecision, options, { planes: [wide] });
    expect(verdict.state).toBe('undetermined');
    // Standard error of the mean square: 0.8 v / sqrt(100), times sqrt 2 for the two lattices, times 1.645: 18.6 %.
    expect(verdict.summary).toContain('95 % bounds 9.0 mm to 10.9 mm');
    expect(judge(surfacePrecision, { ...options, maxRms: 0.012 }, { planes: [wide] }).state).toBe('pass');
    expect(judge(surfacePrecision, { ...options, maxRms: 0.008 }, { planes: [wide] }).state).toBe('fail');
    expect(judge(surfacePrecision, { maxRms: 0.0101 }, { planes: [wide] }).state).toBe('pass');
  });

  it('too little level surface is no evidence', () => {
    const verdict = judge(surfacePrecision, { maxRms: 0.01 }, { planes: [surface(1, 0.004, 60)] });
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('at most 60 cells, 100 needed');
  });
});

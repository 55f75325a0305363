import { describe, expect, it } from 'vitest';
import { fitTarget, type TargetFit, type TargetOptions, type TargetRefusal } from '../../src/geometry/target-fit.js';
import { SYMMETRY, TARGET_KINDS, type TargetKind } from '../../src/geometry/target-shapes.js';
import { Random } from '../../src/simulate/scene/random.js';
import { PAINT, type PaintedTarget, spotIntensity } from '../../test-clouds/scene/painted-target.js';

interface Scene {
  x: Float64Array;
  y: Float64Array;
  value: Float64Array;
  n: number;
}

const SEARCH = 0.3;
const SIZE = 0.3;

/** Points at random in a circle of 0.75 m; brightness by spots of 6 mm radius, places scattered by 2 mm. */
function scene(random: Random, density: number, noise: number, brightness: (x: number, y: number) => number): Scene {
  const radius = 0.75;
  const n = Math.round(density * Math.PI * radius * radius);
  const points: Scene = { x: new Float64Array(n), y: new Float64Array(n), value: new Float64Array(n), n };
  for (let i = 0; i < n; i++) {
    const r = radius * Math.sqrt(random.uniform());
    const a = 2 * Math.PI * random.uniform();
    const [x, y] = [r * Math.cos(a), r * Math.sin(a)];
    points.value[i] = brightness(x, y) + noise * (PAINT.bright - PAINT.ground) * random.normal();
    points.x[i] = x + 0.002 * random.normal();
    points.y[i] = y + 0.002 * random.normal();
  }
  return points;
}

function painted(random: Random, kind: TargetKind, more: Partial<PaintedTarget> = {}): PaintedTarget {
  const place = () => random.between(-0.15, 0.15);
  return { kind, size: SIZE, x: place(), y: place(), angle: random.between(0, 2 * Math.PI), ...more };
}

function locate(kind: TargetKind, { x, y, value, n }: Scene, options: TargetOptions = {}): TargetFit | TargetRefusal {
  return fitTarget(kind, SIZE, x, y, value, n, { search: SEARCH, ...options });
}

function found(result: TargetFit | TargetRefusal): TargetFit {
  if ('refused' in result) throw new Error(result.refused);
  return result;
}

describe('targets of 0.3 m at 1,000 points a square metre, 200 random places, turns and noise levels', () => {
  it.each(TARGET_KINDS)('the centre of a %s comes back within 5 mm rms, its turn within 2 degrees rms', (kind) => {
    const random = new Random(7000 + TARGET_KINDS.indexOf(kind));
    let squares = 0;
    let turns = 0;
    let normalised = 0;
    for (let k = 0; k < 50; k++) {
      const target = painted(random, kind);
      // Noise of the intensity from 2 to 20 percent of the contrast.
      const noise = random.between(0.02, 0.2);
      const points = scene(random, 1000, noise, (x, y) => spotIntensity(target, x, y, 0.006));
      const { pose, xStd, yStd } = found(locate(kind, points));
      const [ex, ey] = [pose.x - target.x, pose.y - target.y];
      squares += ex * ex + ey * ey;
      normalised += (ex / xStd) ** 2 + (ey / yStd) ** 2;
      const turn = SYMMETRY[kind];
      if (turn > 0) {
        const off = (((pose.angle - target.angle) % turn) + 1.5 * turn) % turn;
        turns += (off - turn / 2) ** 2;
      }
    }
    expect(Math.sqrt(squares / 50)).toBeLessThan(0.005);
    expect((Math.sqrt(turns / 50) * 180) / Math.PI).toBeLessThan(2);
    // The standard deviations it states are true ones: errors are as large as they say, within a quarter.
    expect(Math.sqrt(normalised / 100)).toBeGreaterThan(0.6);
    expect(Math.sqrt(normalised / 100)).toBeLessThan(1.25);
  });
});

describe('what a fit tells', () => {
  it('brightness of ground and target, whatever its unit', () => {
    const random = new Random(5);
    const target = painted(random, 'disc');
    const points = scene(random, 1500, 0.05, (x, y) => spotIntensity(target, x, y, 0.006));
    const plain = found(locate('disc', points));
    expect(Math.abs(plain.bright / PAINT.bright - 1)).toBeLessThan(0.02);
    expect(Math.abs(plain.ground / PAINT.ground - 1)).toBeLessThan(0.02);
    const scaled = found(locate('disc', { ...points, value: points.value.map((v) => v / 65_535 - 3) }));
    expect(Math.abs(scaled.pose.x - plain.pose.x)).toBeLessThan(0.00002);
    expect(scaled.fit).toBeCloseTo(plain.fit, 6);
  });

  it('bars of another width than usual are told', () => {
    const random = new Random(6);
    for (const bar of [0.12, 0.35]) {
      const target = painted(random, 'cross', { bar });
      const points = scene(random, 2000, 0.05, (x, y) => spotIntensity(target, x, y, 0.006));
      const { pose } = found(locate('cross', points));
      expect(Math.abs(pose.bar - bar)).toBeLessThan(0.03);
      expect(Math.hypot(pose.x - target.x, pose.y - target.y)).toBeLessThan(0.005);
    }
  });

  it('the noisier the brightness, the smaller the share explained and the larger the deviations', () => {
    const target: PaintedTarget = { kind: 'checker', size: SIZE, x: 0.05, y: -0.08, angle: 0.7 };
    const at = (noise: number) =>
      found(
        locate(
          'checker',
          scene(new Random(8), 1000, noise, (x, y) => spotIntensity(target, x, y, 0.006)),
        ),
      );
    const [quiet, noisy] = [at(0.02), at(0.2)];
    expect(quiet.fit).toBeGreaterThan(0.95);
    expect(noisy.fit).toBeLessThan(quiet.fit);
    expect(noisy.xStd).toBeGreaterThan(quiet.xStd);
  });

  it('does not depend on a turn of the scene by a right angle', () => {
    const random = new Random(9);
    const target = painted(random, 'corner');
    const points = scene(random, 1200, 0.05, (x, y) => spotIntensity(target, x, y, 0.006));
    const here = found(locate('corner', points));
    const turned = found(locate('corner', { ...points, x: points.y.map((v) => -v), y: points.x }));
    expect(Math.abs(turned.pose.x + here.pose.y)).toBeLessThan(0.0005);
    expect(Math.abs(turned.pose.y - here.pose.x)).toBeLessThan(0.0005);
  });
});

describe('worn targets and bars of other widths', () => {
  /** Brightness of a target that has lost a share of its paint in square patches; the paint comes off in the axes of the grid. */
  function worn(random: Random, target: PaintedTarget, share: number, patch: number) {
    const gone = new Map<string, boolean>();
    return (x: number, y: number) => {
      const key = `${Math.floor(x / patch)},${Math.floor(y / patch)}`;
      if (!gone.has(key)) gone.set(key, random.uniform() < share);
      const brightness = spotIntensity(target, x, y, 0.006);
      return gone.get(key) ? Math.min(brightness, PAINT.ground) : brightness;
    };
  }

  it.each(TARGET_KINDS)(
    'a %s with three tenths of its paint missing is found with a larger deviation, or named as worn',
    (kind) => {
      const random = new Random(90 + TARGET_KINDS.indexOf(kind));
      let places = 0;
      let normalised = 0;
      for (let k = 0; k < 5; k++) {
        const target = painted(random, kind);
        const sound = found(
          locate(
            kind,
            scene(random, 1000, 0.05, (x, y) => spotIntensity(target, x, y, 0.006)),
          ),
        );
        expect(sound.missing).toBe(0);
        const result = locate(kind, scene(random, 1000, 0.05, worn(random, target, 0.3, 0.02)));
        if ('refused' in result) {
          expect(result.refused).toMatch(/worn|paint|nothing that looks like/);
          continue;
        }
        places++;
        expect(Math.hypot(result.xStd, result.yStd)).toBeGreaterThan(Math.hypot(sound.xStd, sound.yStd));
        normalised += ((result.pose.x - target.x) / result.xStd) ** 2 + ((result.pose.y - target.y) / result.yStd) ** 2;
      }
      expect(places).toBeGreaterThanOrEqual(3);
      expect(Math.sqrt(normalised / (2 * places))).toBeLessThan(1.8);
    },
  );

  it('a corner with wide bars comes back in its place, and one with bars too wide is refused', () => {
    const random = new Random(99);
    const of = (bar: number) => {
      const target = painted(random, 'corner', { bar });
      return {
        target,
        result: locate(
          'corner',
          scene(random, 1000, 0.05, (x, y) => spotIntensity(target, x, y, 0.006)),
        ),
      };
    };
    for (const bar of [0.36, 0.42, 0.45]) {
      const { target, result } = of(bar);
      const { pose } = found(result);
      expect(Math.hypot(pose.x - target.x, pose.y - target.y)).toBeLessThan(0.012);
    }
    expect('refused' in of(0.7).result).toBe(true);
  });
});

describe('what is refused', () => {
  const flat = () => PAINT.ground;
  const reasonOf = (result: TargetFit | TargetRefusal) => ('refused' in result ? result.refused : 'found');

  it.each(TARGET_KINDS)('bare ground, however noisy, is no %s', (kind) => {
    for (let seed = 1; seed <= 5; seed++) {
      expect(reasonOf(locate(kind, scene(new Random(seed), 800, 0.1, flat)))).toMatch(
        /nothing that looks like|stands out/,
      );
    }
  });

  it.each(TARGET_KINDS)('a road marking running through is no %s', (kind) => {
    const line = (x: number, y: number) => (Math.abs(x * 0.6 + y * 0.8 - 0.05) < 0.06 ? PAINT.bright : PAINT.ground);
    expect(reasonOf(locate(kind, scene(new Random(3), 1000, 0.05, line)))).not.toBe('found');
  });

  it('a dark lid is no disc', () => {
    const lid = (x: number, y: number) => (Math.hypot(x, y) < 0.15 ? 2000 : PAINT.ground);
    expect(reasonOf(locate('disc', scene(new Random(4), 1000, 0.02, lid)))).not.toBe('found');
  });

  it('two targets side by side leave the choice open', () => {
    const [a, b] = [-0.2, 0.2].map((x): PaintedTarget => ({ kind: 'disc', size: SIZE, x, y: 0, angle: 0 }));
    const both = (x: number, y: number) => Math.max(spotIntensity(a, x, y, 0.006), spotIntensity(b, x, y, 0.006));
    expect(reasonOf(locate('disc', scene(new Random(5), 1000, 0.05, both)))).toContain(
      'two places look like the target',
    );
  });

  it('a target of another kind or size is not taken for the one asked for', () => {
    const random = new Random(6);
    const disc = painted(random, 'disc');
    const points = scene(random, 1000, 0.05, (x, y) => spotIntensity(disc, x, y, 0.006));
    for (const kind of ['checker', 'cross', 'corner'] as const)
      expect(reasonOf(locate(kind, points))).not.toBe('found');
    const small = painted(random, 'disc', { size: 0.1 });
    const other = scene(random, 1000, 0.05, (x, y) => spotIntensity(small, x, y, 0.006));
    expect(reasonOf(locate('disc', other))).not.toBe('found');
  });

  it('too few points, and a target beyond the search', () => {
    const random = new Random(7);
    const target = painted(random, 'disc');
    const thin = scene(random, 60, 0.02, (x, y) => spotIntensity(target, x, y, 0.006));
    expect(reasonOf(locate('disc', thin))).toMatch(/points/);
    const far = painted(random, 'disc', { x: 0.4, y: 0 });
    const points = scene(random, 1000, 0.02, (x, y) => spotIntensity(far, x, y, 0.006));
    expect(reasonOf(locate('disc', points))).not.toBe('found');
  });

  it('a size that is none is a mistake of the caller', () => {
    const none = new Float64Array(0);
    expect(() => fitTarget('disc', 0, none, none, none, 0)).toThrow(RangeError);
    expect(reasonOf(fitTarget('disc', 0.3, none, none, none, 0))).not.toBe('found');
  });
});

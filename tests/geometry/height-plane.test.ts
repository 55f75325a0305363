import { describe, expect, it } from 'vitest';
import { fitHeight, type HeightOptions } from '../../src/geometry/height-plane.js';
import { type Emit, type Scene, scene, spread } from './scenes.js';
import { type Seeded, seeded, shuffled } from './seeded.js';

const RADIUS = 0.5;
const NOISE = 0.004;
/** Road of 2.5 % crossfall and 1 % gradient, 12.345 m high at the survey point. */
const road = (x: number, y: number) => 12.345 + 0.025 * x - 0.01 * y;

const heightOf = (s: Scene, options?: HeightOptions) => fitHeight(s.dx, s.dy, s.dz, s.n, options);
const noisy = (random: Seeded, z: number) => z + NOISE * random.normal();

/** Expects the road at the survey point within the given millimetres. */
function expectRoad(s: Scene, withinMillimetres = 2): void {
  const found = heightOf(s);
  expect(found).not.toBeNull();
  expect(Math.abs(found!.height - 12.345) * 1000).toBeLessThan(withinMillimetres);
}

describe('clean surfaces', () => {
  it('an exact plane comes back exactly', () => {
    const s = scene(RADIUS, (emit) => {
      for (let i = -5; i <= 5; i++)
        for (let k = -5; k <= 5; k++) emit(i / 10, k / 10, 1 + 0.25 * (i / 10) - 0.5 * (k / 10));
    });
    const found = heightOf(s)!;
    expect(found.height).toBeCloseTo(1, 13);
    expect(found.slopeX).toBeCloseTo(0.25, 12);
    expect(found.slopeY).toBeCloseTo(-0.5, 12);
    expect(found.rms).toBeLessThan(1e-12);
    expect(found).toMatchObject({ used: s.n, rejected: 0, quadrants: 4 });
  });
  it('a noisy road: height, slopes, scatter, and a standard deviation that holds over many scenes', () => {
    let squares = 0;
    const runs = 200;
    for (let k = 0; k < runs; k++) {
      const random = seeded(500 + k);
      const s = scene(RADIUS, (emit) => spread(random, RADIUS, 120, (x, y) => emit(x, y, noisy(random, road(x, y)))));
      const found = heightOf(s, { factor: 5 })!;
      squares += ((found.height - 12.345) / found.heightStd) ** 2;
      expect(found.rms).toBeGreaterThan(NOISE * 0.7);
      expect(found.rms).toBeLessThan(NOISE * 1.3);
    }
    // Errors in units of their stated standard deviation: root mean square 1 within the spread of 200 samples.
    expect(Math.abs(Math.sqrt(squares / runs) - 1)).toBeLessThan(0.15);
  });
  it('points on one side only: the standard deviation grows with the lever, and holds', () => {
    let squares = 0;
    const runs = 200;
    for (let k = 0; k < runs; k++) {
      const random = seeded(900 + k);
      const s = scene(1, (emit) =>
        spread(random, 0.3, 80, (x, y) => emit(x + 0.5, y, noisy(random, road(x + 0.5, y)))),
      );
      const found = heightOf(s, { factor: 5 })!;
      expect(found.heightStd).toBeGreaterThan((2.5 * found.rms) / Math.sqrt(found.used));
      expect(found.quadrants).toBe(2);
      squares += ((found.height - 12.345) / found.heightStd) ** 2;
    }
    expect(Math.abs(Math.sqrt(squares / runs) - 1)).toBeLessThan(0.15);
  });
  it('steep ramps up to the limit, and no height beyond it', () => {
    for (const slope of [0.1, 0.3, 0.6, 0.9]) {
      const random = seeded(77);
      const s = scene(RADIUS, (emit) =>
        spread(random, RADIUS, 3000, (x, y) => emit(x, y, noisy(random, 12.345 + slope * y))),
      );
      expectRoad(s, 1);
      expect(heightOf(s)!.slopeY).toBeCloseTo(slope, 2);
      expect(heightOf(s)!.used).toBeGreaterThan(s.n * 0.95);
    }
    const random = seeded(78);
    const steep = scene(RADIUS, (emit) => spread(random, RADIUS, 3000, (x, y) => emit(x, y, noisy(random, 1.5 * x))));
    expect(heightOf(steep)).toBeNull();
    expect(heightOf(steep, { maxSlope: 2 })!.slopeX).toBeCloseTo(1.5, 1);
  });
  it('scan lines 8 cm apart are enough, one scan line is not', () => {
    const random = seeded(79);
    const lines = (count: number) =>
      scene(RADIUS, (emit) => {
        for (let line = 0; line < count; line++) {
          for (let k = -100; k <= 100; k++) {
            const y = (line - (count - 1) / 2) * 0.08 + 0.002 * random.normal();
            emit(k / 200, y, noisy(random, road(k / 200, y)));
          }
        }
      });
    expectRoad(lines(5));
    expect(heightOf(lines(1))).toBeNull();
  });
});

describe('the road among other things within the radius', () => {
  const scenes: Record<string, (random: Seeded, emit: Emit) => void> = {
    'a kerb of 12 cm close by, footway behind it': (random, emit) => {
      spread(random, RADIUS, 4000, (x, y) => {
        if (x > 0.1) emit(x, y, noisy(random, road(x, y) + 0.12));
        else emit(x, y, noisy(random, road(x, y)));
      });
      // The face of the kerb.
      for (let k = 0; k < 300; k++) emit(0.1, random.uniform() - 0.5, road(0.1, 0) + 0.12 * random.uniform());
    },
    'a roof of a parked car beside the point, ten times as dense': (random, emit) => {
      spread(random, RADIUS, 3000, (x, y) => {
        if (y < 0.15) emit(x, y, noisy(random, road(x, y)));
      });
      spread(random, RADIUS, 30_000, (x, y) => {
        if (y > 0.2) emit(x, y, noisy(random, 12.345 + 1.45));
      });
    },
    'grass on the verge': (random, emit) => {
      spread(random, RADIUS, 4000, (x, y) => {
        // Blades: heights fall off exponentially from the ground up, 5 cm on average.
        const blade = x > 0.05 ? -0.05 * Math.log(1 - random.uniform()) : 0;
        emit(x, y, noisy(random, road(x, y) + blade));
      });
    },
    'leaves over the point, nine points in ten': (random, emit) => {
      spread(random, RADIUS, 500, (x, y) => emit(x, y, noisy(random, road(x, y))));
      spread(random, RADIUS, 4500, (x, y) => emit(x, y, 12.345 + 1.5 + 2 * random.uniform()));
    },
    'a flat canopy over the point, nine points in ten': (random, emit) => {
      spread(random, RADIUS, 600, (x, y) => emit(x, y, noisy(random, road(x, y))));
      spread(random, RADIUS, 5400, (x, y) => emit(x, y, noisy(random, 12.345 + 4.5)));
    },
    'echoes below the road and a passing bird': (random, emit) => {
      spread(random, RADIUS, 2000, (x, y) => emit(x, y, noisy(random, road(x, y))));
      spread(random, RADIUS, 60, (x, y) => emit(x, y, road(x, y) - 0.5 - random.uniform()));
      spread(random, RADIUS, 60, (x, y) => emit(x, y, road(x, y) + 5 * random.uniform()));
    },
    'all of these at once': (random, emit) => {
      spread(random, RADIUS, 3000, (x, y) => {
        if (x > 0.2) emit(x, y, noisy(random, road(x, y) + 0.12));
        else if (y < 0.25) emit(x, y, noisy(random, road(x, y)));
        else emit(x, y, noisy(random, 12.345 + 1.45));
      });
      spread(random, RADIUS, 1000, (x, y) => emit(x, y, 12.345 + 2.5 + 2 * random.uniform()));
    },
  };
  for (const [name, draw] of Object.entries(scenes)) {
    it(name, () => {
      for (const seed of [1, 2, 3, 4, 5]) {
        const random = seeded(seed);
        expectRoad(
          scene(RADIUS, (emit) => draw(random, emit)),
          3,
        );
      }
    });
  }
  it('a point on the footway gives the footway, a point on a quay edge gives the quay', () => {
    for (const step of [0.12, 1.5]) {
      const random = seeded(91);
      const s = scene(RADIUS, (emit) =>
        spread(random, RADIUS, 4000, (x, y) => emit(x, y, noisy(random, road(x, y) - (x < -0.1 ? step : 0)))),
      );
      expectRoad(s, 3);
    }
  });
});

describe('what it says of itself', () => {
  const random = seeded(101);
  const s = scene(RADIUS, (emit) =>
    spread(random, RADIUS, 800, (x, y) => emit(x, y, noisy(random, road(x, y) + (x > 0.1 ? 0.12 : 0)))),
  );
  it('the same bits for any order of the points', () => {
    const order = shuffled(
      Array.from({ length: s.n }, (_, i) => i),
      seeded(5),
    );
    const mixed = [s.dx, s.dy, s.dz].map((a) => Float64Array.from(order, (i) => a[i]));
    expect(fitHeight(mixed[0], mixed[1], mixed[2], s.n)).toEqual(heightOf(s));
  });
  it('used and rejected add up; quadrants are counted', () => {
    const found = heightOf(s)!;
    expect(found.used + found.rejected).toBe(s.n);
    const behind = Float64Array.from(s.dx, (x) => -Math.abs(x) * 0.18 - 0.001);
    expect(fitHeight(behind, s.dy, Float64Array.from(s.dz).fill(3), s.n)!.quadrants).toBe(2);
  });
  it('moving the height origin moves the height', () => {
    const raised = fitHeight(
      s.dx,
      s.dy,
      s.dz.map((z) => z + 1024),
      s.n,
    )!;
    expect(raised.height - 1024).toBeCloseTo(heightOf(s)!.height, 9);
  });
  it('reads only the first n', () => {
    expect(fitHeight(s.dx, s.dy, s.dz, 5)).toBeNull();
    expect(fitHeight(s.dx.subarray(0, 300), s.dy.subarray(0, 300), s.dz.subarray(0, 300), 300)).toEqual(
      fitHeight(s.dx, s.dy, s.dz, 300),
    );
  });
  it('too few points, none, all at one place', () => {
    expect(heightOf(s, { minPoints: s.n })).toBeNull();
    expect(fitHeight(new Float64Array(0), new Float64Array(0), new Float64Array(0), 0)).toBeNull();
    const twenty = new Float64Array(20);
    expect(fitHeight(twenty, twenty, twenty, 20)).toBeNull();
  });
  it('refuses what is no number, and arrays that are too short', () => {
    const bad = s.dz.slice();
    bad[7] = Number.NaN;
    expect(() => fitHeight(s.dx, s.dy, bad, s.n)).toThrow(/point 7/);
    expect(() => fitHeight(s.dx, s.dy, s.dz, s.n + 1)).toThrow(RangeError);
    expect(() => heightOf(s, { clearanceMetres: 0 })).toThrow(RangeError);
  });
});

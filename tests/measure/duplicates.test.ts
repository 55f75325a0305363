import { describe, expect, it } from 'vitest';
import { type Duplicates, type DuplicatesParams, duplicates } from '../../src/measure/duplicates.js';
import { seeded, shuffled } from '../geometry/seeded.js';
import { batchOf, measureFiles, type TestPoint } from './point-batches.js';

const PLAIN: DuplicatesParams = { same: 'xyz', draw: 'places', most: 1e6, level: 0, within: null };
const measure = (files: TestPoint[][], more: Partial<DuplicatesParams> = {}, size = 1000) =>
  measureFiles(duplicates, { ...PLAIN, ...more }, files, size) as Duplicates;

/** Different places on a grid of 1 mm, times a microsecond apart. */
function grid(count: number, seed = 1): TestPoint[] {
  const random = seeded(seed);
  return Array.from({ length: count }, (_, k) => ({
    x: (k % 1000) / 1000,
    y: Math.floor(k / 1000) / 1000 - seed,
    z: random.integer(20) / 1000,
    time: 1000 + k * 1e-6,
  }));
}

describe('duplicates, compared in full', () => {
  it('counts points beyond the first of each place, within a file and across files', () => {
    const a = grid(2000);
    const found = measure([[...a, a[5], a[5], a[900]], [...grid(500, 3), a[5], a[17]], [a[17]]], {}, 77);
    expect(found).toMatchObject({ level: 0, points: 2506, sampled: 2506, places: 3, surplus: 6 });
    expect(found.pairs).toEqual([
      { a: 0, b: 0, points: 3 },
      { a: 0, b: 1, points: 2 },
      { a: 0, b: 2, points: 1 },
    ]);
    expect(found.worst[0]).toEqual({ x: 561_000.005, y: 5_931_999, z: a[5].z, points: 4, files: [0, 1] });
    expect(found.worst.map((w) => w.points)).toEqual([4, 3, 2]);
  });

  it('a tenth of a millimetre apart is not the same place', () => {
    expect(
      measure([
        [
          { x: 1, y: 1 },
          { x: 1.0001, y: 1 },
          { x: 1, y: 1, z: 0.0001 },
        ],
      ]).surplus,
    ).toBe(0);
  });

  it('time and return tell points at one place apart', () => {
    const place = { x: 1, y: 2, z: 3, time: 5, of: [1, 2] as const };
    const points = [
      place,
      { ...place },
      { ...place, time: 6 },
      { ...place, of: [2, 2] as const },
      { ...place, time: 5 + 1e-9 },
    ];
    expect(measure([points]).surplus).toBe(4);
    const found = measure([points], { same: 'xyz-time-return' });
    expect([found.surplus, found.places]).toEqual([1, 1]);
  });

  it('leaves withheld points and points outside the zone out', () => {
    const square = {
      polygons: [
        { outer: [561_000, 5_932_000, 561_010, 5_932_000, 561_010, 5_932_010, 561_000, 5_932_010], holes: [] },
      ],
      margin: 0,
    };
    const points = [
      { x: 1, y: 1 },
      { x: 1, y: 1, flags: 4 },
      { x: 50, y: 1 },
      { x: 50, y: 1 },
      { x: 1, y: 1 },
    ];
    expect(measure([points]).surplus).toBe(2);
    const inside = measure([points], { within: square });
    expect([inside.points, inside.surplus]).toEqual([2, 1]);
  });

  it('keeps the sign and size of coordinates, 429 km and more from 0 too', () => {
    /** Points at these eastings and northings, metres, in one batch. */
    const at = (places: readonly (readonly [number, number])[]): Duplicates => {
      const batch = batchOf(places.map(() => ({ x: 0, y: 0, z: -12.5 })));
      batch.east.set(places.map(([x]) => x * 10_000));
      batch.north.set(places.map(([, y]) => y * 10_000));
      for (const [k, values] of [batch.east, batch.north].entries()) {
        batch.box[k] = Math.min(...values);
        batch.box[k + 3] = Math.max(...values);
      }
      const state = duplicates.create(PLAIN);
      duplicates.add(state, batch);
      return duplicates.finish(state, PLAIN);
    };
    const far = [-1_000_000.0001, -7_654_321.4321] as const;
    expect(at([far, [0, 0], far]).worst).toEqual([{ x: far[0], y: far[1], z: -12.5, points: 2, files: [0] }]);
    // 2^32 quanta apart in easting or northing: the low words are the same.
    expect(
      at([
        [0, 0],
        [429_496.7296, 0],
        [-429_496.7296, 0],
        [0, 429_496.7296],
      ]).surplus,
    ).toBe(0);
  });
});

describe('duplicates in a sample', () => {
  it('holds no more than asked for, and the same whatever the order and the split', () => {
    const points = [...grid(30_000), ...grid(3000)];
    const whole = measure([points], { most: 4000 });
    expect(whole.level).toBeGreaterThan(2);
    expect(whole.points).toBe(33_000);
    expect(whole.sampled).toBeGreaterThan(1000);
    const mixed = shuffled(points, seeded(9));
    expect(measure([mixed], { most: 4000 }, 501)).toEqual(whole);
    const merged = duplicates.create({ ...PLAIN, most: 4000 });
    for (const [k, at] of [20_000, 0, 10_000].entries()) {
      const part = duplicates.create({ ...PLAIN, most: 4000 });
      duplicates.add(part, batchOf(mixed.slice(at, at === 20_000 ? 33_000 : at + 10_000), { first: k }));
      duplicates.merge(merged, duplicates.pack(part));
    }
    expect(duplicates.finish(merged, { ...PLAIN, most: 4000 })).toEqual(whole);
  });

  it('shows the share of doubles without bias: every point of a place is drawn with it', () => {
    // 10,000 places, a tenth of them twice: 1,000 doubles in 11,000 points, 9.09 %.
    const points = [...grid(10_000), ...grid(10_000).filter((_, k) => k % 10 === 0)];
    const shares = Array.from({ length: 40 }, (_, k) => {
      const moved = points.map((p) => ({ ...p, x: p.x + k * 1.7 }));
      const found = measure([moved], { level: 3 });
      return found.surplus / found.sampled;
    });
    const mean = shares.reduce((sum, s) => sum + s, 0) / shares.length;
    // Binomial: 125 doubled places expected a draw, so one draw scatters by 9 %, the mean of 40 by 1.4 %.
    expect(Math.abs(mean - 1 / 11)).toBeLessThan((1 / 11) * 0.045);
    expect(Math.max(...shares) - Math.min(...shares)).toBeGreaterThan(0.005);
  });

  it('places miss one place with many points, single points show it', () => {
    const spot = Array.from({ length: 4000 }, (_, k) => ({ x: 0.4567, y: -0.4321, time: 5000 + k }));
    const points = shuffled([...grid(16_000), ...spot], seeded(2));
    const single = measure([points], { draw: 'points', level: 5, most: 5000 });
    expect(single.sampled).toBeGreaterThan(400);
    // 4,000 / 32 = 125 expected, standard deviation 11.
    expect(Math.abs(single.worst[0].points - 125)).toBeLessThan(50);
    expect(single.worst[0]).toMatchObject({ x: 561_000.4567, y: 5_931_999.5679 });
    expect(single.worst.filter((w) => w.points > 2)).toHaveLength(1);
    // Drawn by place, with time: every point of the spot is a place of its own, and none is doubled.
    expect(measure([points], { same: 'xyz-time-return', most: 2000 }).surplus).toBe(0);
  });

  it('draws about one place in 2^level of a regular grid', () => {
    for (const level of [1, 4, 7]) {
      const { sampled } = measure([grid(64_000)], { level });
      const expected = 64_000 / 2 ** level;
      expect(Math.abs(sampled - expected)).toBeLessThan(5 * Math.sqrt(expected));
    }
  });
});

import { describe, expect, it } from 'vitest';
import { duplicates } from '../../src/checks/duplicates.js';
import type { Duplicates } from '../../src/measure/duplicates.js';
import { fact } from '../../src/measure/fact-types.js';
import { Random } from '../../src/simulate/scene/random.js';
import { joinPoints, type SceneColumns, selectPoints } from '../../src/simulate/writer/point-columns.js';
import { assayFiles, assayOne, lasOf, soundStreet, zonesOf } from './check-files.js';
import { deliveryOf, fileOf, judge, requirementOf } from './judge.js';

function facts(more: Partial<Duplicates> = {}): Duplicates {
  return { level: 0, points: 1_000_000, sampled: 1_000_000, places: 0, surplus: 0, pairs: [], worst: [], ...more };
}
const files = [fileOf('a.las', 0), fileOf('b.las', 1)];
const verdictOf = (options: object, places: Duplicates, points?: Duplicates) =>
  judge(duplicates, options as Record<string, unknown>, { places, points }, { files });

describe('duplicates', () => {
  it('compared in full: the share decides, to the point', () => {
    expect(verdictOf({ maxShare: 0 }, facts()).state).toBe('pass');
    expect(verdictOf({ maxShare: 0 }, facts({ places: 1, surplus: 1 })).state).toBe('fail');
    expect(verdictOf({ maxShare: 0.00001 }, facts({ places: 10, surplus: 10 })).state).toBe('pass');
    expect(verdictOf({ maxShare: 0.00001, decision: 'guarded' }, facts({ places: 10, surplus: 10 })).state).toBe(
      'pass',
    );
    expect(verdictOf({ maxShare: 0.00001 }, facts({ places: 11, surplus: 11 })).state).toBe('fail');
    expect(verdictOf({ maxShare: 0.00001, decision: 'guarded' }, facts({ places: 11, surplus: 11 })).state).toBe(
      'fail',
    );
    const { measured } = verdictOf({}, facts({ places: 10, surplus: 12 }));
    expect([measured.points.value, measured.share.value, measured.shareHigh.value]).toEqual([12, 12e-6, 12e-6]);
  });

  it('a sample without a double: less than three in the sample at 95 %, and no proof of none', () => {
    const sample = facts({ level: 4, points: 16_000_000 });
    const loose = verdictOf({ maxShare: 0.00001 }, sample, facts());
    expect(loose.state).toBe('pass');
    // Rule of three: the upper 95 % bound of a count of 0 is -ln 0.05 = 2.9957.
    expect(loose.measured.shareHigh.value).toBeCloseTo(-Math.log(0.05) * 1e-6, 12);
    expect(verdictOf({ maxShare: 0 }, sample, facts()).state).toBe('undetermined');
    expect(verdictOf({ maxShare: 0.000003, decision: 'guarded' }, sample, facts()).state).toBe('pass');
    expect(verdictOf({ maxShare: 0.0000029, decision: 'guarded' }, sample, facts()).state).toBe('undetermined');
  });

  it('a sample with doubles: scaled up, with bounds of a Poisson count', () => {
    const sample = facts({ level: 4, points: 16_000_000, places: 10, surplus: 10 });
    const verdict = verdictOf({ maxShare: 0 }, sample, facts());
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.points.value).toBe(160);
    // 5 % and 95 % bounds of a Poisson mean for a count of 10: 5.4254 and 16.962 (tables of exact Poisson limits).
    expect(verdict.measured.shareLow.value! * 1e6).toBeCloseTo(5.4254, 3);
    expect(verdict.measured.shareHigh.value! * 1e6).toBeCloseTo(16.962, 2);
    const guarded = (maxShare: number) => verdictOf({ maxShare, decision: 'guarded' }, sample, facts()).state;
    expect([guarded(5.4e-6), guarded(5.5e-6), guarded(16.9e-6), guarded(17e-6)]).toEqual([
      'fail',
      'undetermined',
      'undetermined',
      'pass',
    ]);
  });

  it('a place that holds a large part of the cloud is seen among single points', () => {
    const spot = { x: 1, y: 2, z: 3, points: 1000, files: [1] };
    const single = facts({ level: 6, points: 16_000_000, sampled: 250_000, places: 1, surplus: 999, worst: [spot] });
    const verdict = verdictOf({ maxShare: 0.001 }, facts({ level: 4, points: 16_000_000 }), single);
    expect([verdict.state, verdict.measured.points.value]).toEqual(['fail', 64_000]);
    const [places] = verdict.evidence;
    expect(places.kind === 'locations' && places.items[0]).toMatchObject({
      x: 1,
      y: 2,
      z: 3,
      file: 'b.las',
      value: 1000,
    });
    // Two single points at one place are what ordinary doubles look like.
    const pair = facts({ level: 6, worst: [{ ...spot, points: 2 }] });
    expect(verdictOf({ maxShare: 0.001 }, facts({ level: 4, points: 16_000_000 }), pair).state).toBe('pass');
  });

  it('is undetermined without points', () => {
    expect(verdictOf({}, facts({ points: 0, sampled: 0 })).state).toBe('undetermined');
  });

  it('plans the sample from the headers, and single points only where it is not complete', () => {
    const needs = (pointCount: number, more = {}) =>
      duplicates.needs(requirementOf({ check: 'duplicates', ...more }) as never, {
        delivery: deliveryOf({
          files: [
            fileOf('a.las', 0, { header: { pointCount } }),
            fileOf('b.las', 1, { header: { pointCount: 2 ** 60 }, fault: 'unreadable' }),
          ],
        }),
      });
    expect(needs(1_000_000)).toEqual({
      places: fact('duplicates', { same: 'xyz-time-return', draw: 'places', most: 1_000_000, level: 0, within: null }),
      points: undefined,
    });
    expect(needs(1_000_001)).toMatchObject({
      places: { params: { draw: 'places', level: 1 } },
      points: { params: { draw: 'points', level: 3, most: 250_000 } },
    });
    expect(needs(1_000_001, { sample: 2_000_000 }).points).toBeUndefined();
  });
});

/** Copies of `n` different points, drawn from the seed. */
function copies(points: SceneColumns, n: number, seed: number): SceneColumns {
  const random = new Random(seed);
  const chosen = new Set<number>();
  while (chosen.size < n) chosen.add(random.below(points.count));
  return selectPoints(points, (i) => chosen.has(i));
}

describe('duplicates from file to report', () => {
  const street = soundStreet();
  const west = selectPoints(street, (i) => street.x[i] < 561_010);
  const east = selectPoints(street, (i) => street.x[i] >= 561_010);

  it('finds exactly what was planted, within a tile and across tiles, for any split and number of workers', async () => {
    const tiles = {
      'a.las': lasOf(joinPoints([west, copies(west, 37, 1)])),
      'b.las': lasOf(joinPoints([east, copies(west, 21, 2)])),
    };
    const report = await assayFiles(tiles, [{ check: 'duplicates', maxShare: 0 }]);
    const [result] = report.requirements;
    expect(result.verdict).toBe('fail');
    expect(result.measured).toMatchObject({
      points: 58,
      withinFiles: 37,
      acrossFiles: 21,
      compared: street.count + 58,
    });
    expect(result.measured.share).toBe(58 / (street.count + 58));
    expect(result.tables[0].rows).toEqual([
      ['a.las', 'itself', 37],
      ['a.las', 'b.las', 21],
    ]);
    for (const more of [{ spanPoints: 1111 }, { spanPoints: 4000, workers: 2 }])
      expect((await assayFiles(tiles, [{ check: 'duplicates', maxShare: 0 }], more)).requirements).toEqual(
        report.requirements,
      );
  });

  it('finds a tile delivered twice under two names, in another scale and offset too', async () => {
    const again = lasOf(west, { scale: [0.0005, 0.0005, 0.0005], offset: [560_000, 5_931_000, 10] });
    const result = await assayOne({ 'a.las': lasOf(west), 'copy of a.las': again }, { check: 'duplicates' });
    expect(result.measured).toMatchObject({ points: west.count, acrossFiles: west.count, withinFiles: 0 });
  });

  it('a sound street has none with the same time and return', async () => {
    const result = await assayOne({ 'a.las': lasOf(street) }, { check: 'duplicates', maxShare: 0 });
    expect([result.verdict, result.measured.points]).toEqual(['pass', 0]);
  });

  it('judges the zone only', async () => {
    const tiles = { 'a.las': lasOf(joinPoints([street, copies(west, 9, 3), copies(east, 5, 4)])) };
    const zones = zonesOf(['west', 560_000, 5_932_000, 561_010, 5_933_000]);
    const result = await assayOne(tiles, { check: 'duplicates', zone: 'west' }, { zones });
    expect(result.measured).toMatchObject({ points: 9, compared: west.count + 9 });
  });

  it('says how large the sample was when it is not complete, and comes near the truth', async () => {
    const twice = joinPoints([street, copies(street, Math.floor(street.count / 5), 8)]);
    const report = await assayFiles({ 'a.las': lasOf(twice) }, [{ check: 'duplicates', sample: 8000 }]);
    const [result] = report.requirements;
    expect(result.verdict).toBe('fail');
    expect(result.measured.compared).toBeLessThanOrEqual(8000);
    const truth = Math.floor(street.count / 5) / twice.count;
    expect(result.measured.shareLow!).toBeLessThan(truth);
    expect(result.measured.shareHigh!).toBeGreaterThan(truth);
    expect(Math.abs(result.measured.share! / truth - 1)).toBeLessThan(0.15);
    const again = await assayFiles({ 'a.las': lasOf(twice) }, [{ check: 'duplicates', sample: 8000 }], {
      spanPoints: 3000,
    });
    expect(again.requirements).toEqual(report.requirements);
  });
});

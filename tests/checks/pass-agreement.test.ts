import { describe, expect, it } from 'vitest';
import { passAgreement } from '../../src/checks/pass-agreement.js';
import type { PassRule } from '../../src/delivery/delivery.js';
import { normalQuantile } from '../../src/geometry/distributions.js';
import type { MaskArea } from '../../src/measure/cells/zone-mask.js';
import { fact } from '../../src/measure/fact-types.js';
import type { PassPair, PassPairs } from '../../src/measure/pass-pairs.js';
import { densityPatch } from '../../test-clouds/scene/density-patch.js';
import { judge } from './judge.js';
import { measureFacts } from './measured-scene.js';

function pairOf(a: number, b: number, more: Partial<PassPair> = {}): PassPair {
  return {
    a,
    b,
    overlapArea: 40,
    comparedArea: 36,
    shared: 500,
    dense: 400,
    planes: 300,
    cells: 200,
    rejected: 0,
    meanDz: 0.001,
    rmsDz: 0.004,
    maxDz: 0.012,
    p95Dz: 0.008,
    shift: [0.001, 0.002, 0.001],
    shiftStd: [0.0002, 0.0002, 0.0001],
    observable: [true, true, true],
    shiftLength: 0.00245,
    directions: [{ name: 'up', direction: [0, 0, 1], distance: 0.001, std: 0.0002 }],
    gross: [0, 0, 0],
    worst: [{ x: 1, y: 2, z: 3, dz: 0.012 }],
    map: { x: new Float64Array(0), y: new Float64Array(0), dz: new Float64Array(0) },
    ...more,
  };
}

/** Values at equal steps of probability of the standard normal distribution. */
function evenNormal(k: number, count: number): number {
  return normalQuantile((k + 0.5) / count);
}

/** Two hundred height differences of this RMS and shape. */
function withHeights(rmsDz: number, shape: (k: number) => number): Partial<PassPair> {
  const shapes = Float64Array.from({ length: 200 }, (_, k) => shape(k));
  const rms = Math.sqrt(shapes.reduce((sum, v) => sum + v * v, 0) / shapes.length);
  const dz = shapes.map((v) => (v / rms) * rmsDz);
  return { rmsDz, map: { x: dz, y: dz, dz } };
}

function pairs(...list: PassPair[]): PassPairs {
  return { voxel: 0.5, passes: [1, 2, 3], pairs: list };
}

const LIMITS = { maxRmsDz: 0.016, maxDz: 0.032, maxShift: 0.015 };

describe('pass-agreement', () => {
  it('passes when every pair is within every limit', () => {
    const verdict = judge(passAgreement, LIMITS, { compared: pairs(pairOf(1, 2), pairOf(1, 3)) });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured).toMatchObject({
      pairs: { value: 2 },
      cells: { value: 400 },
      rmsDz: { value: 0.004, unit: 'm' },
    });
    expect(verdict.passPairs).toHaveLength(2);
  });

  it.each([
    ['rmsDz', { rmsDz: 0.017 }],
    ['maxDz', { maxDz: 0.033 }],
    ['shift', { shiftLength: 0.0436 }],
  ])('fails on %s alone and names the pair', (_, more) => {
    const verdict = judge(passAgreement, LIMITS, { compared: pairs(pairOf(1, 2), pairOf(2, 3, more)) });
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('source 2 and source 3');
    expect(verdict.measured.worstPair.value).toBe(1);
  });

  it('lists places of every pair beyond a limit, the largest of each first', () => {
    const spot = (x: number, dz: number) => ({ x, y: 0, z: 3, dz });
    const far = pairOf(1, 2, { maxDz: 0.09, worst: [spot(1, 0.09), spot(101, 0.08), spot(201, 0.07)] });
    const near = pairOf(2, 3, { maxDz: 0.04, worst: [spot(900, -0.04), spot(1000, 0.035)] });
    const verdict = judge(passAgreement, LIMITS, { compared: pairs(near, far) });
    const places = verdict.evidence.flatMap((part) => (part.kind === 'locations' ? part.items : []));
    expect(places.map(({ value }) => value)).toEqual([0.09, -0.04, 0.08, 0.035, 0.07]);
    expect(places[1].pass).toBe('source 2 and source 3');
  });

  it('judges the pairs that are required for: heads of one drive, or passes of different drives', () => {
    // Keys of source ID and scanner channel: source * 4 + channel.
    const passRule = { by: ['point-source-id', 'scanner-channel'] as const };
    const [a0, a1, b0, b1] = [4, 5, 8, 9];
    const compared = {
      ...pairs(pairOf(a0, a1, { rmsDz: 0.03 }), pairOf(a0, b0), pairOf(a1, b1), pairOf(b0, b1)),
      passes: [a0, a1, b0, b1],
    };
    const verdictOf = (options: object, rule: PassRule = passRule) =>
      judge(passAgreement, { maxRmsDz: 0.016, ...options }, { compared }, { passRule: rule });
    expect(verdictOf({}).measured.pairs.value).toBe(4);
    const within = verdictOf({ pairs: 'within-drive' });
    expect([within.state, within.measured.pairs.value, within.measured.worstPair.value]).toEqual(['fail', 2, 0]);
    expect(within.passPairs).toHaveLength(4);
    const between = verdictOf({ pairs: 'between-drives' });
    expect([between.state, between.measured.pairs.value, between.measured.rmsDz.value]).toEqual(['pass', 2, 0.004]);
    const unknown = verdictOf({ pairs: 'within-drive' }, { by: ['point-source-id'] });
    expect(unknown.state).toBe('undetermined');
    expect(unknown.summary).toContain('no two passes that have seen the same ground belong to one drive');
    expect(unknown.advice[0]).toContain('scanner-channel');
  });

  it('never passes a pair that was compared on too little of the common ground', () => {
    const little = { overlapArea: 200, comparedArea: 18 };
    const verdictOf = (more: Partial<PassPair>, options: object = {}) =>
      judge(passAgreement, { maxRmsDz: 0.016, ...options }, { compared: pairs(pairOf(1, 2), pairOf(1, 3, more)) });
    const verdict = verdictOf(little);
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain(
      'compared on 9.0 % of the 200.0 m² that both have seen (at least 10.0 % required)',
    );
    expect(verdict.measured.comparedShare).toEqual({ value: 0.09, unit: 'share' });
    expect(verdict.limits.comparedShare).toEqual({ value: 0.1, unit: 'share' });
    expect(verdict.passPairs![1]).toMatchObject({ ...little, comparedShare: 0.09 });
    const [table] = verdict.evidence.filter((part) => part.kind === 'table');
    expect(table.rows[1].slice(-3)).toEqual([200, 18, 0.09]);
    expect(verdictOf({ ...little, rmsDz: 0.017 }).state).toBe('fail');
    expect(verdictOf(little, { minComparedShare: 0.09 }).state).toBe('pass');
    expect(verdictOf({}, { minComparedShare: 0.91 }).state).toBe('undetermined');
    expect(verdictOf({}, { minComparedShare: 0.9 }).state).toBe('pass');
  });

  it('never makes up a shift that no surface shows: undetermined, and it says what is seen', () => {
    const bare = {
      shift: [null, null, 0.001],
      shiftStd: [null, null, 0.0001],
      observable: [false, false, true],
      shiftLength: 0.001,
      directions: [{ name: 'up', direction: [0, 0, 1], distance: 0.001, std: 0.0001 }],
    } satisfies Partial<PassPair>;
    const verdict = judge(passAgreement, LIMITS, { compared: pairs(pairOf(1, 2, bare)) });
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('seen: +1.0 mm in height, no surface shows a horizontal shift');
    expect(judge(passAgreement, { maxRmsDz: 0.016 }, { compared: pairs(pairOf(1, 2, bare)) }).state).toBe('pass');
  });

  describe('where one horizontal direction alone is seen', () => {
    // A tunnel at 23 degrees to the grid: 40 mm across, which points to 113 degrees from grid north; nothing known along.
    const tunnel = (distance: number): Partial<PassPair> => ({
      shift: [null, null, 0.001],
      shiftStd: [null, null, 0.0001],
      observable: [false, false, true],
      shiftLength: Math.hypot(distance, 0.001),
      directions: [
        { name: 'across', direction: [Math.cos(0.4014), -Math.sin(0.4014), 0], distance, std: 0.0003 },
        { name: 'up', direction: [0, 0, 1], distance: 0.001, std: 0.0001 },
      ],
    });
    const judged = (limits: Record<string, number>, distance: number) =>
      judge(passAgreement, limits, { compared: pairs(pairOf(1, 2, tunnel(distance))) });

    it('a shift along it that exceeds a horizontal limit fails, whatever is hidden', () => {
      const verdict = judged({ maxPlanShift: 0.02 }, 0.04);
      expect(verdict.state).toBe('fail');
      expect(verdict.measured.planShift.value).toBeCloseTo(0.04, 12);
      expect(verdict.summary).toContain('40.0 mm across the road (bearing 113°)');
      expect(verdict.summary).toContain('no surface shows the shift along the road');
      expect(judged({ maxShift: 0.02 }, 0.04).state).toBe('fail');
    });

    it('a small one proves nothing of the hidden part: undetermined', () => {
      expect(judged({ maxPlanShift: 0.02 }, 0.004).state).toBe('undetermined');
      expect(judged({ maxShift: 0.02 }, 0.004).state).toBe('undetermined');
      expect(judged({ maxAxisShift: 0.02 }, 0.004).state).toBe('undetermined');
    });

    it('a limit for each axis fails only beyond what some shift along both axes could explain', () => {
      // |cos 23| + |sin 23| = 1.311: 40 mm across mean at least 30.5 mm along x or y.
      expect(judged({ maxAxisShift: 0.03 }, 0.04).state).toBe('fail');
      expect(judged({ maxAxisShift: 0.031 }, 0.04).state).toBe('undetermined');
    });

    it('the line of the pair in the report names the directions', () => {
      const [line] = judged({ maxShift: 0.02 }, 0.04).passPairs!;
      expect(line.directions!.map(({ name, shift }) => [name, shift])).toEqual([
        ['across', 0.04],
        ['up', 0.001],
      ]);
    });
  });

  describe('advice where the horizontal shift is hidden', () => {
    const bare = (upright?: PassPair['upright']) => {
      const pair = pairOf(1, 2, {
        shift: [null, null, 0.001],
        shiftStd: [null, null, 0.0001],
        observable: [false, false, true],
        shiftLength: 0.001,
        upright,
      });
      return judge(passAgreement, { maxShift: 0.02, voxel: 0.5 }, { compared: pairs(pair) }).advice[0];
    };

    it('asks for walls on a bare road', () => {
      for (const upright of [
        undefined,
        { planes: 4, sparse: 5, sparsePoints: 30, rough: 3 },
        { planes: 500, sparse: 5, sparsePoints: 30, rough: 90 },
      ])
        expect(bare(upright)).toContain('Level ground alone shows heights only');
    });

    it('names a voxel size that holds enough points where walls are too sparse', () => {
      // 6 points in 0.5 m; 15 wanted on average: 0.5 m sqrt(15 / 6) = 0.79 m, because points of a wall grow with its area.
      const advice = bare({ planes: 2, sparse: 300, sparsePoints: 1800, rough: 12 });
      expect(advice).toContain('too sparse for this voxel size');
      expect(advice).toContain('with 6 points of the sparser pass on average (10 needed)');
      expect(advice).toContain('A voxel of 0.8 m');
    });

    it('says so where walls are seen twice within a pass', () => {
      const advice = bare({ planes: 30, sparse: 20, sparsePoints: 120, rough: 400 });
      expect(advice).toContain(
        'in 400 voxels of 0.5 m the points of a pass scatter by more than 20.0 mm about the wall',
      );
    });
  });

  it('too few common surfaces are no evidence, with the numbers', () => {
    const thin = pairOf(1, 2, { shared: 900, dense: 3, planes: 2, cells: 1 });
    const verdict = judge(passAgreement, LIMITS, { compared: pairs(thin) });
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('900 voxels');
    expect(verdict.summary).toContain('only 3 of them hold 10 points');
  });

  it('one pass, or passes that never meet, cannot be compared', () => {
    expect(judge(passAgreement, LIMITS, { compared: { voxel: 0.5, passes: [1], pairs: [] } }).state).toBe(
      'undetermined',
    );
    expect(judge(passAgreement, LIMITS, { compared: pairs() }).state).toBe('undetermined');
  });

  it('a guarded decision weighs the standard deviation of the shift', () => {
    const near: Partial<PassPair> = {
      shiftLength: 0.0148,
      directions: [{ name: 'up', direction: [0, 0, 1], distance: 0.0148, std: 0.0005 }],
    };
    expect(judge(passAgreement, LIMITS, { compared: pairs(pairOf(1, 2, near)) }).state).toBe('pass');
    expect(
      judge(passAgreement, { ...LIMITS, decision: 'guarded' }, { compared: pairs(pairOf(1, 2, near)) }).state,
    ).toBe('undetermined');
  });

  it('a guarded decision leaves an RMS open while the limit lies within its bounds', () => {
    // 200 voxels: the upper 95 % bound is sqrt(200 / chi2(0.05, 200)) = 1.0902 times the RMS (chi2 168.279, SciPy).
    const near = pairOf(
      1,
      2,
      withHeights(0.0148, (k) => evenNormal(k, 200)),
    );
    const options = { maxRmsDz: 0.016, decision: 'guarded' };
    expect(judge(passAgreement, options, { compared: pairs(near) }).state).toBe('undetermined');
    const clear = pairOf(
      1,
      2,
      withHeights(0.0146, (k) => evenNormal(k, 200)),
    );
    expect(judge(passAgreement, options, { compared: pairs(clear) }).state).toBe('pass');
    expect(judge(passAgreement, { maxRmsDz: 0.016 }, { compared: pairs(near) }).state).toBe('pass');
  });

  it('heavy tails of the height differences widen the bounds of their RMS', () => {
    // A tenth of the differences three times larger: kurtosis 27 / 3.24 = 8.33, so 55 degrees of freedom for 200 voxels.
    const tails = pairOf(
      1,
      2,
      withHeights(0.0146, (k) => (k % 10 === 0 ? 3 : 1) * evenNormal(Math.floor(k / 10) * 10, 200)),
    );
    expect(judge(passAgreement, { maxRmsDz: 0.016, decision: 'guarded' }, { compared: pairs(tails) }).state).toBe(
      'undetermined',
    );
  });

  it('differences in plan, square by square: at 95 % and the largest, each with its own limit', () => {
    // Twenty squares of 1 to 20 mm: the 95th percentile (type 7) lies at rank 0.95 * 19 = 18.05, at 19.05 mm.
    const stretches = Array.from({ length: 20 }, (_, k) => ({
      x: 10 + 20 * k,
      y: 10,
      planes: 100,
      offset: (k + 1) / 1000,
      std: 0.0004,
      whole: k % 2 === 0,
    }));
    const verdictOf = (options: Record<string, unknown>, more: Partial<PassPair> = {}) =>
      judge(passAgreement, options, { compared: pairs(pairOf(1, 2, { stretches, ...more })) });
    const verdict = verdictOf({ maxP95Plan: 0.0191, maxPlan: 0.0201 });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.p95Plan.value).toBeCloseTo(0.01905, 12);
    expect(verdict.measured.maxPlan.value).toBe(0.02);
    expect(verdict.limits).toMatchObject({ p95Plan: { value: 0.0191 }, maxPlan: { value: 0.0201 } });
    expect(verdict.evidence.filter((e) => e.kind === 'grid' && e.title.includes('in plan'))).toHaveLength(1);
    const [places] = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.items[0]).toMatchObject({ x: 390, y: 10, value: 0.02, unit: 'm' });
    expect(places.items[0].note).toContain('in the one direction that is observable');
    expect(verdictOf({ maxP95Plan: 0.019 })).toMatchObject({ state: 'fail' });
    expect(verdictOf({ maxPlan: 0.0199 }).summary).toContain('largest difference in plan 20.0 mm (limit 19.9 mm)');
    expect(verdictOf({ maxPlan: 0.0201, decision: 'guarded' }).state).toBe('undetermined');
    // What shows one direction only can be too large, but proves nothing good.
    expect(verdict.summary).toContain('known in 20 squares, in both directions of the plan in 10');
    const few = stretches.map((s, k) => ({ ...s, whole: k < 9 }));
    expect(verdictOf({ maxPlan: 0.0201 }, { stretches: few }).state).toBe('undetermined');
    const half = stretches.map((s) => ({ ...s, whole: false }));
    expect(verdictOf({ maxPlan: 0.0201 }, { stretches: half }).state).toBe('undetermined');
    expect(verdictOf({ maxPlan: 0.0199 }, { stretches: half }).state).toBe('fail');
    expect(verdictOf({ maxPlan: 0.0201 }, { stretches: [] })).toMatchObject({ state: 'undetermined' });
  });

  it('a limit of each axis by itself: the largest decides, an axis that is not seen leaves it open', () => {
    const pair = pairOf(1, 2, { shift: [0.03, -0.04, 0.02], shiftLength: 0.0539 });
    const verdict = judge(passAgreement, { maxAxisShift: 0.041 }, { compared: pairs(pair) });
    expect(verdict).toMatchObject({ state: 'pass', limits: { axisShift: { value: 0.041 } } });
    expect(verdict.measured.axisShift.value).toBeCloseTo(0.04, 12);
    expect(judge(passAgreement, { maxAxisShift: 0.039 }, { compared: pairs(pair) })).toMatchObject({
      state: 'fail',
      summary: expect.stringContaining('shift along an axis 40.0 mm (limit 39.0 mm)'),
    });
    const half = pairOf(1, 2, { shift: [null, null, 0.02], observable: [false, false, true] });
    expect(judge(passAgreement, { maxAxisShift: 0.041 }, { compared: pairs(half) }).state).toBe('undetermined');
    expect(judge(passAgreement, { maxAxisShift: 0.019 }, { compared: pairs(half) }).state).toBe('fail');
    const guarded = { maxAxisShift: 0.0402, decision: 'guarded' };
    expect(judge(passAgreement, guarded, { compared: pairs(pair) }).state).toBe('undetermined');
  });

  it('limits of their own for the 95th percentile and for the shift in plan', () => {
    const pair = pairOf(1, 2, { p95Dz: 0.011, shift: [0.03, -0.04, 0.001] });
    expect(judge(passAgreement, { maxP95Dz: 0.01 }, { compared: pairs(pair) }).state).toBe('fail');
    expect(judge(passAgreement, { maxP95Dz: 0.012 }, { compared: pairs(pair) }).state).toBe('pass');
    const verdict = judge(passAgreement, { maxPlanShift: 0.049 }, { compared: pairs(pair) });
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.planShift.value).toBeCloseTo(0.05, 12);
    expect(judge(passAgreement, { maxPlanShift: 0.051 }, { compared: pairs(pair) }).state).toBe('pass');
    const half = pairOf(1, 2, { shift: [0.03, null, 0.001], observable: [true, false, true] });
    expect(judge(passAgreement, { maxPlanShift: 0.051 }, { compared: pairs(half) }).state).toBe('undetermined');
    expect(judge(passAgreement, { maxPlanShift: 0.02 }, { compared: pairs(half) }).state).toBe('fail');
  });
});

describe('pass-agreement by cells: the published swath separation', () => {
  const requests = (area: MaskArea | null = null) => ({
    compared: fact('swath-separation', { cell: 1, minPoints: 1, area }),
  });

  /** Two passes over the same 20 m x 20 m, the second one higher by 30 mm, and by 60 mm in the east. */
  function scene() {
    const points = densityPatch({
      origin: [1000, 2000],
      columns: 20,
      rows: 20,
      cell: 1,
      perCell: 16,
      passes: 2,
      noise: 0.004,
      seed: 3,
    });
    for (let i = 0; i < points.count; i++) {
      if (points.pointSourceId[i] === 2) points.z[i] += points.x[i] >= 1015 ? 0.06 : 0.03;
    }
    return points;
  }

  it('finds planted differences in signed means of last returns, in bins of the limit', () => {
    const points = scene();
    // Leaves above the ground: first of two returns, not to be used.
    for (let i = 0; i < points.count; i += 5) {
      points.returnCount[i] = 2;
      points.z[i] += 4;
    }
    const verdict = judge(passAgreement, { method: 'cells', maxRmsDz: 0.04 }, measureFacts(points, requests()));
    expect(verdict.state).toBe('pass');
    const [line] = verdict.passPairs!;
    expect(line.cells).toBe(400);
    // 300 cells at 30 mm and 100 at 60 mm; each difference of two means of 12 or 13 points with 4 mm noise.
    expect(line.meanDz).toBeCloseTo(0.0375, 3);
    expect(line.rmsDz).toBeCloseTo(Math.sqrt((3 * 0.03 ** 2 + 0.06 ** 2) / 4), 3);
    expect(line.shift).toEqual([null, null, null]);
    const bins = verdict.evidence.find((e) => e.title.startsWith('Cells by height difference'));
    expect((bins as { rows: unknown[][] }).rows).toEqual([['source 1', 'source 2', 300, 100, 0]]);
  });

  it('leaves steep ground and noise out, and cannot tell a shift', () => {
    const points = scene();
    for (let i = 0; i < points.count; i++) {
      if (points.x[i] < 1008) points.z[i] += 0.3 * (points.x[i] - 1008);
      if (i % 50 === 0) {
        points.classification[i] = 18;
        points.z[i] += 100;
      }
    }
    const measured = measureFacts(points, requests());
    const verdict = judge(passAgreement, { method: 'cells', maxRmsDz: 0.05 }, measured);
    expect(verdict.passPairs![0].cells).toBeLessThanOrEqual(240);
    expect(verdict.passPairs![0].cells).toBeGreaterThanOrEqual(220);
    expect(verdict.passPairs![0].maxDz).toBeLessThan(0.07);
    const shift = judge(passAgreement, { method: 'cells', maxShift: 0.05 }, measured);
    expect(shift.state).toBe('undetermined');
    expect(shift.summary).toContain('shift cannot be determined');
  });

  it('looks inside the zone only', () => {
    const area = { polygons: [{ outer: [1000, 2000, 1010, 2000, 1010, 2020, 1000, 2020], holes: [] }], margin: 0 };
    const { compared: found } = measureFacts(scene(), requests(area));
    expect(found.pairs[0].cells).toBe(200);
    expect(found.pairs[0].maxDz).toBeLessThan(0.04);
  });
});

import { describe, expect, it } from 'vitest';
import type { Verdict } from '../../src/checks/contract/check.js';
import { range } from '../../src/checks/range.js';
import type { DeliveryFacts } from '../../src/delivery/delivery.js';
import type { PassPair } from '../../src/measure/pass-pairs.js';
import type { PassSurface } from '../../src/measure/pass-surfaces.js';
import type { RangeCells } from '../../src/measure/range-cells.js';
import { driveStreet } from '../../src/simulate/drive/drive-street.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { simulatedTrajectory } from '../simulated-trajectory.js';
import { deliveryOf, judge, requirementOf, squareZone } from './judge.js';
import { measureFacts } from './measured-scene.js';

const nothing = { drives: [], notes: [] };

/** Cells of a pass in one row from column 0: mean distance and points of each; the nearest point is 0.5 m nearer. */
function cellsOf(pass: number, cells: readonly [mean: number, points: number, beyond?: number, unplaced?: number][]) {
  const of = (k: number, otherwise = 0) => cells.map((cell) => cell[k] ?? otherwise);
  return {
    pass,
    column: Int32Array.from(cells, (_, k) => k),
    row: new Int32Array(cells.length),
    points: Uint32Array.from(of(1)),
    beyond: Uint32Array.from(of(2)),
    unplaced: Uint32Array.from(of(3)),
    mean: Float64Array.from(of(0)),
    nearest: Float64Array.from(of(0), (mean) => mean - 0.5),
    // A scanner 2 m above the ground.
    above: new Float64Array(cells.length).fill(2),
  } satisfies RangeCells;
}

const verdictOf = (
  options: Record<string, unknown>,
  facts: { cells?: RangeCells[]; surfaces?: PassSurface[]; pairs?: PassPair[] },
  delivery: Partial<DeliveryFacts> = {},
): Verdict =>
  judge(
    range,
    options,
    {
      cells: facts.cells,
      surfaces: facts.surfaces,
      compared: facts.pairs && { voxel: 0.5, passes: [], pairs: facts.pairs },
    },
    { trajectory: nothing, ...delivery },
  );

const near = cellsOf(
  1,
  Array.from({ length: 20 }, () => [5, 500]),
);

// Every expected value is counted by hand from the cells that are given.
describe('range', () => {
  it('asks for the trajectory', () => {
    const verdict = verdictOf({ maxRange: 30, maxFarShare: 0.1 }, {}, { trajectory: null });
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('no trajectory');
    expect(range.needs(requirementOf({ check: 'range', minDensity: 1 }) as never, { delivery: deliveryOf() })).toEqual(
      {},
    );
  });

  it('needs at least one limit, and a distance beside its limit', () => {
    for (const options of [{}, { maxRange: 30 }, { maxFarShare: 0.1 }, { captureWithin: 30 }])
      expect(() => requirementOf({ check: 'range', ...options })).toThrow();
  });

  it.each([
    [0.06, 'pass'],
    [0.04, 'fail'],
  ])('holds the share of far points, 5 %%, against %f: %s', (maxFarShare, state) => {
    const verdict = verdictOf(
      { maxRange: 30, maxFarShare },
      {
        cells: [
          cellsOf(1, [
            [10, 900],
            [40, 100, 50],
          ]),
        ],
      },
    );
    expect(verdict.state).toBe(state);
    expect(verdict.measured.farShare.value).toBe(0.05);
    expect(verdict.summary).toContain('5.0 % of the points are farther than 30 m');
    expect(verdict.measured.farthest.value).toBe(40);
  });

  it('finds connected ground that was seen from far only; another pass that is near takes it away', () => {
    const cells: [number, number][] = [5, 40, 40, 40, 5, 40].map((mean) => [mean, 100]);
    const options = { captureWithin: 30, maxFarArea: 2 };
    const alone = verdictOf(options, { cells: [cellsOf(1, cells)] });
    expect(alone.state).toBe('fail');
    expect(alone.measured.farArea.value).toBe(3);
    const [places] = alone.evidence;
    expect(places.kind === 'locations' && places.items).toHaveLength(2);
    expect(places.kind === 'locations' && places.items[0]).toMatchObject({ y: 0.5, value: 3, unit: 'm2' });
    const both = verdictOf(options, {
      cells: [
        cellsOf(1, cells),
        cellsOf(2, [
          [50, 9],
          [50, 9],
          [9, 9],
        ]),
      ],
    });
    expect(both.state).toBe('pass');
    expect(both.measured.farArea.value).toBe(1);
  });

  it('holds the density that 90 % of the near ground reaches against its limit', () => {
    // Ten cells of 1 m²: one has 300 points, nine have 500. The 10th percentile of ten values lies 0.9 of the way from the first to the second.
    const cells = cellsOf(
      1,
      Array.from({ length: 10 }, (_, k) => [5, k === 0 ? 300 : 500]),
    );
    const verdict = verdictOf({ minDensity: 400 }, { cells: [cells] });
    expect(verdict.measured.density.value).toBeCloseTo(480, 9);
    expect(verdict.state).toBe('pass');
    // Points from beyond the distance do not count as near ground.
    const far = cellsOf(
      2,
      Array.from({ length: 10 }, () => [20, 10_000]),
    );
    expect(verdictOf({ minDensity: 490 }, { cells: [cells, far] }).state).toBe('fail');
  });

  const surface = (x: number[], variance: number[]): PassSurface => ({
    pass: 1,
    level: x.length,
    rough: 0,
    x: Float64Array.from(x),
    y: new Float64Array(x.length).fill(0.5),
    z: new Float64Array(x.length),
    points: new Float64Array(x.length).fill(13),
    variance: Float64Array.from(variance),
    range: new Float64Array(x.length),
  });

  it('takes the worst class of distance for the precision, and needs enough patches in it', () => {
    const cells = [
      cellsOf(1, [
        [3, 10],
        [8, 10],
        [13, 10],
      ]),
    ];
    const surfaces = [surface([0.5, 0.5, 1.5, 1.5, 2.5], [0.0001, 0.0001, 0.0004, 0.0004, 0.01])];
    const verdict = verdictOf({ maxRms: 0.015, minCells: 2 }, { cells, surfaces });
    // 20 mm at 5 to 10 m; the single patch at 13 m is not enough.
    expect(verdict.measured.rms.value).toBeCloseTo(0.02, 9);
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('5 to 10 m from the scanner');
    const few = verdictOf({ maxRms: 0.015, minCells: 3 }, { cells, surfaces });
    expect(few.state).toBe('undetermined');
  });

  it('counts level patches seen at a steep angle: the cosine is height over distance', () => {
    // 2 m above, 3.9 m away: 59.15 degrees; 4.1 m away: 60.80 degrees (acos 2/3.9 and 2/4.1).
    const cells = [
      cellsOf(1, [
        [3.9, 10],
        [4.1, 10],
      ]),
    ];
    const surfaces = [surface([0.5, 0.5, 0.5, 1.5], [1e-4, 1e-4, 1e-4, 1e-4])];
    const verdict = verdictOf({ maxSteepShare: 0.2, minCells: 1 }, { cells, surfaces });
    expect(verdict.measured.steepShare.value).toBe(0.25);
    expect(verdict.state).toBe('fail');
    expect(verdictOf({ maxSteepShare: 0.2, maxIncidence: 61, minCells: 1 }, { cells, surfaces }).state).toBe('pass');
  });

  it('puts a height difference into the class of the farther pass', () => {
    const cells = [
      cellsOf(1, [
        [3, 10],
        [3, 10],
      ]),
      cellsOf(2, [
        [4, 10],
        [12, 10],
      ]),
    ];
    const map = {
      x: Float64Array.of(0.5, 1.5, 1.5),
      y: Float64Array.of(0.5, 0.5, 0.5),
      dz: Float64Array.of(0.001, 0.03, -0.04),
    };
    const pairs = [{ a: 1, b: 2, map } as unknown as PassPair];
    const verdict = verdictOf({ maxRmsDz: 0.02, minCells: 1 }, { cells, pairs });
    expect(verdict.measured.rmsDz.value).toBeCloseTo(Math.sqrt((0.03 ** 2 + 0.04 ** 2) / 2), 12);
    expect(verdict.summary).toContain('10 to 15 m');
  });

  it('proves nothing where the trajectory has no position for too many points', () => {
    const cells = [cellsOf(1, [[5, 900, 0, 100]])];
    const verdict = verdictOf({ maxRange: 30, maxFarShare: 0.1 }, { cells });
    expect(verdict.state).toBe('undetermined');
    expect(verdict.measured.placedShare.value).toBe(0.9);
    expect(verdictOf({ maxRange: 30, maxFarShare: 0.1, minPlacedShare: 0.9 }, { cells }).state).toBe('pass');
    const none = verdictOf({ maxRange: 30, maxFarShare: 0.1 }, { cells: [cellsOf(1, [[Number.NaN, 0, 0, 5]])] });
    expect(none.summary).toContain('No point was taken at a time');
  });

  it('judges only the cells of a zone', () => {
    const delivery = { zones: [squareZone('A', 0, 0, 1, 1)] };
    const cells = [
      cellsOf(1, [
        [5, 100],
        [40, 100, 100],
      ]),
    ];
    expect(verdictOf({ maxRange: 30, maxFarShare: 0.1, zone: 'A' }, { cells }, delivery).state).toBe('pass');
    expect(verdictOf({ maxRange: 30, maxFarShare: 0.1 }, { cells }, delivery).state).toBe('fail');
  });

  it('shows tables, a histogram, a series and a map, and says in words what is required', () => {
    const verdict = verdictOf({ minDensity: 400 }, { cells: [near] });
    expect(verdict.evidence.map(({ kind }) => kind)).toEqual(['locations', 'table', 'histogram', 'series', 'grid']);
    const text = range.explain(
      requirementOf({ check: 'range', minDensity: 400, maxRange: 30, maxFarShare: 0.1 }) as never,
    );
    expect(text).toContain('at most 10.0 % of the points may be farther than 30 m');
    expect(text).toContain('400 points/m2');
  });
});

describe('range on a driven street', () => {
  const street = createStreet({ poleSpacing: 0, treeSpacing: 0 });
  const drive = driveStreet({
    street,
    from: 0,
    to: 20,
    legs: [
      { lane: -2, direction: 1 },
      { lane: 2, direction: -1 },
    ],
    alignmentBefore: null,
    alignmentAfter: null,
    pattern: { by: 'surface', spacing: 0.16 },
  });
  const points = scanToColumns({ street, passes: drive.passes, from: 0, to: 20, noise: 0.004, seed: 9 });
  const options = {
    check: 'range',
    maxRange: 7,
    maxFarShare: 0.2,
    captureWithin: 6,
    maxFarArea: 5,
    maxRms: 0.006,
    maxRmsDz: 0.004,
    maxSteepShare: 0.6,
    minPoints: 6,
  };

  it('finds the noise of the scanner at every distance, and the distances that were driven', () => {
    const requirement = requirementOf(options) as never;
    const context = { delivery: deliveryOf({ trajectory: simulatedTrajectory([drive], { rate: 50 }) }) };
    const facts = measureFacts(points, range.needs(requirement, context));
    const verdict = range.judge(facts, requirement, context);
    // The noise that was planted is 4 mm along the normal; two passes of the same ground agree within it.
    expect(verdict.measured.rms.value).toBeGreaterThan(0.0037);
    expect(verdict.measured.rms.value).toBeLessThan(0.0045);
    expect(verdict.measured.placedShare.value).toBe(1);
    // From the lanes at 2 m, a scanner 2.2 m up sees all ground out to the fronts at 6.5 m from within 6 m, but its recesses.
    const exact = [...points.x.keys()].slice(0, points.count).filter((i) => {
      const lane = points.pointSourceId[i] === 1 ? -2 : 2;
      const direction = lane < 0 ? 1 : -1;
      const v = points.y[i] - street.origin[1];
      const side = Math.abs(v - lane);
      const along = side * Math.tan((40 * Math.PI) / 180);
      const [u0, ground] = [
        points.x[i] - street.origin[0] - direction * along,
        street.heightAtOrigin - street.crossfall * lane,
      ];
      const dz = points.z[i] - (ground + street.grade * u0 + 2.2);
      return Math.hypot(side, along, dz) > 7;
    }).length;
    // Each half plane is turned 40 degrees; which way it looks changes dz by the grade of 6 mm a metre only.
    expect(verdict.measured.farShare.value! * points.count).toBeGreaterThan(0.97 * exact);
    expect(verdict.measured.farShare.value! * points.count).toBeLessThan(1.03 * exact);
    expect(verdict.state).toBe(verdict.measured.farShare.value! > 0.2 ? 'fail' : 'pass');
  });
});

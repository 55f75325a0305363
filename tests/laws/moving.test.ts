import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { density } from '../../src/checks/density.js';
import { isolatedPoints } from '../../src/checks/isolated-points.js';
import { passAgreement } from '../../src/checks/pass-agreement.js';
import { surfacePrecision } from '../../src/checks/surface-precision.js';
import { verticalAccuracy } from '../../src/checks/vertical-accuracy.js';
import { voids } from '../../src/checks/voids.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { surveyPoints } from '../../src/simulate/scene/survey.js';
import { squareZone } from '../checks/judge.js';
import { moved } from '../checks/measured-scene.js';
import { figuresOf, surveyed, verdictOf } from './street-figures.js';

const street = createStreet({ origin: [0, 0], heightAtOrigin: 12, treeSpacing: 0 });
const faults = [undefined, { shift: [0.012, -0.018, 0.009] as const }];
const points = scanToColumns({
  street,
  passes: usualDrives({ passes: 2, density: 60, faults }),
  from: 0,
  to: 14,
  noise: 0.004,
  seed: 8,
});
const survey = surveyPoints(street, {
  count: 6,
  role: 'check',
  prefix: 'CP',
  uFrom: 1.5,
  uTo: 12.5,
  vFrom: -2.5,
  vTo: 2.5,
  sigma: 0.003,
  seed: 2,
});

const CHECKS = [
  [verticalAccuracy, { maxRmse: 0.02, minPoints: 6 }],
  [passAgreement, { maxShift: 0.015, maxDz: 0.03, minPoints: 8 }],
  [surfacePrecision, { maxRms: 0.012, minPoints: 8 }],
  [density, { cell: 1, min: 80, share: 0.9 }],
  [density, { cell: 0.5, min: 20, share: 0.9, zone: 'road' }],
  [voids, { maxArea: 1, zone: 'road' }],
  [isolatedPoints, { maxShare: 0.01 }],
] as const;

/** All figures of the scene, moved with its survey points and zones. */
function figuresAt(by: readonly [number, number, number]) {
  const zone = squareZone('road', 1 + by[0], -3 + by[1], 13 + by[0], 3 + by[1]);
  const around = { survey: surveyed(survey, by), zones: [zone] };
  const there = moved(points, by);
  return CHECKS.map(([check, options]) => figuresOf(verdictOf(check, options, there, around)));
}

const here = figuresAt([0, 0, 0]);
const far = { min: -3_000_000, max: 9_000_000 };

// A truth that needs no outside source: where in the world a street lies says nothing about how it was measured.
describe('moving a delivery with its points and zones', () => {
  it('by whole metres, the lattice of every cell and cube, changes no figure by a single bit but for rounding', () => {
    const metres = fc.tuple(fc.integer(far), fc.integer(far), fc.integer({ min: -400, max: 4000 }));
    fc.assert(
      fc.property(metres, (by) => {
        figuresAt(by).forEach((figures, i) => {
          for (const [name, value] of Object.entries(here[i])) {
            const label = `${CHECKS[i][0].id} ${name}`;
            if (value === null) expect(figures[name], label).toBeNull();
            else
              expect(Math.abs(figures[name]! - value), label).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(value)));
          }
        });
      }),
      { seed: 11, numRuns: 4 },
    );
  });

  it('by any millimetres, changes no height residual, and no shift by more than its own uncertainty', () => {
    const millimetres = fc.tuple(
      fc.integer({ min: -2e9, max: 2e9 }),
      fc.integer({ min: -2e9, max: 2e9 }),
      fc.integer({ min: -1e5, max: 1e6 }),
    );
    const pairHere = verdictOf(passAgreement, CHECKS[1][1], points).passPairs![0];
    fc.assert(
      fc.property(millimetres, (mm) => {
        const by = mm.map((v) => v / 1000) as [number, number, number];
        const there = moved(points, by);
        const heights = figuresOf(verdictOf(verticalAccuracy, CHECKS[0][1], there, { survey: surveyed(survey, by) }));
        for (const [name, value] of Object.entries(here[0]))
          if (value !== null) expect(Math.abs(heights[name]! - value), name).toBeLessThan(1e-6);
        // Other cubes hold other points: the same surfaces, fitted anew.
        const pair = verdictOf(passAgreement, CHECKS[1][1], there).passPairs![0];
        pair.shift.forEach((value, axis) => {
          const std = Math.hypot(pair.shiftStd[axis]!, pairHere.shiftStd[axis]!);
          expect(Math.abs(value! - pairHere.shift[axis]!)).toBeLessThan(Math.max(0.001, 2 * std));
        });
        expect(Math.abs(pair.meanDz! - pairHere.meanDz!)).toBeLessThan(0.001);
      }),
      { seed: 12, numRuns: 5 },
    );
  });
});

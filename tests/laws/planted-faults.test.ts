import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { passAgreement } from '../../src/checks/pass-agreement.js';
import { verticalAccuracy } from '../../src/checks/vertical-accuracy.js';
import { fact } from '../../src/measure/fact-types.js';
import { driftOfPasses } from '../../src/measure/passes/drift-of-passes.js';
import { FIRST_GPS_TIME, usualDrives } from '../../src/simulate/scene/drives.js';
import type { PassFaults } from '../../src/simulate/scene/pass-faults.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet, type StreetOptions } from '../../src/simulate/scene/street.js';
import { surveyPoints } from '../../src/simulate/scene/survey.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { inUnit, measureScene } from '../checks/measured-scene.js';
import { figuresOf, surveyed, verdictOf } from './street-figures.js';

const HEADING = 25;
const bare = { treeSpacing: 0, poleSpacing: 0 };

function scan(
  faults: readonly (PassFaults | undefined)[],
  length: number,
  more: Partial<StreetOptions> = {},
): SceneColumns {
  const street = createStreet({ origin: [0, 0], heightAtOrigin: 12, ...bare, ...more });
  const passes = usualDrives({ passes: faults.length, density: 60, faults });
  return scanToColumns({ street, passes, from: 0, to: length, noise: 0.004, seed: 17 });
}

/** From the frame of a drive forth (1) or back (-1) to the world. */
function inWorld(along: number, left: number, direction: number): [number, number, number] {
  const a = (HEADING * Math.PI) / 180;
  return [
    direction * (along * Math.cos(a) - left * Math.sin(a)),
    direction * (along * Math.sin(a) + left * Math.cos(a)),
    0,
  ];
}

const millimetres = (most: number) => fc.integer({ min: -most, max: most }).map((v) => v / 1000);

// The scene is analytic and its faults have exact sizes: they are the outside truth.
describe('what is planted comes back', () => {
  it('a shift of a pass, within 1 mm or two standard deviations', () => {
    fc.assert(
      fc.property(fc.tuple(millimetres(120), millimetres(120), millimetres(120)), (shift) => {
        const [pair] = verdictOf(passAgreement, { maxShift: 0.015, minPoints: 8 }, scan([undefined, { shift }], 14))
          .passPairs!;
        shift.forEach((planted, axis) => {
          expect(pair.observable[axis]).toBe(true);
          const off = Math.abs(pair.shift[axis]! - planted);
          expect(off).toBeLessThan(Math.max(0.001, 2 * pair.shiftStd[axis]!));
        });
      }),
      { seed: 21, numRuns: 6 },
    );
  });

  it('a drift of a pass, bin by bin within 1 mm', () => {
    const rate = fc.integer({ min: -2000, max: 2000 }).map((v) => v / 1e6);
    fc.assert(
      fc.property(rate, fc.integer({ min: 1, max: 4 }), (metresPerSecond, from) => {
        const drift = { from, to: from + 5, metresPerSecond };
        const street = createStreet({ ...bare, left: 'open', right: 'open', grade: 0.003 });
        const passes = usualDrives({ passes: 2, density: 60, faults: [undefined, { drift }] });
        const slow = passes.map((pass) => ({ ...pass, speed: 5 }));
        const points = scanToColumns({ street, passes: slow, from: 0, to: 50, noise: 0.004, seed: 12 });
        const [{ pairs }, times] = measureScene(points, [
          fact('pass-pairs', { voxel: 0.5, minPoints: 6, area: null }),
          fact('pass-times', { cell: 0.5 }),
        ]);
        const options = { bin: 1, minCells: 10, window: 60, minSeconds: 5 };
        const second = driftOfPasses(pairs, times, options).find(({ pass }) => pass === 2)!;
        expect(second.time.length).toBeGreaterThan(8);
        second.time.forEach((time, i) => {
          const seconds = time + 0.5 - FIRST_GPS_TIME - 600;
          const planted = metresPerSecond * Math.min(Math.max(seconds - from, 0), 5);
          // Where the drift begins or ends within a bin, its median may lie off its middle.
          const knee = [from, from + 5].some((at) => Math.abs(seconds - at) <= 1);
          const room = knee ? Math.abs(metresPerSecond) / 4 : 0;
          expect(Math.abs(second.offset[i] - planted)).toBeLessThan(0.001 + room);
        });
      }),
      { seed: 22, numRuns: 4 },
    );
  });

  it('offsets of the scanner on the vehicle, within 1 mm, and its roll, within 1 mm at the edge of the road', () => {
    const size = fc.tuple(fc.integer({ min: 10, max: 40 }), fc.boolean()).map(([v, up]) => ((up ? 1 : -1) * v) / 1000);
    const roll = fc
      .tuple(fc.integer({ min: 20, max: 60 }), fc.boolean())
      .map(([v, up]) => ((up ? 1 : -1) * v) / 10_000);
    const options = { maxShift: 0.01, maxRmsDz: 0.01, minPoints: 8 };
    const causeOf = (faults: PassFaults[]) =>
      verdictOf(passAgreement, options, scan(faults, 24, { headingDegrees: HEADING })).causes?.find(
        ({ rule }) => rule === 'opposite-drives',
      );
    fc.assert(
      fc.property(size, size, roll, (along, left, radians) => {
        const drives = [1, -1, 1, -1];
        const mounted = causeOf(drives.map((direction) => ({ shift: inWorld(along, left, direction) })))!;
        expect(Math.abs(mounted.figures.along.value! - along)).toBeLessThan(0.001);
        expect(Math.abs(mounted.figures.left.value! - left)).toBeLessThan(0.001);
        const rolled = causeOf(drives.map((direction) => ({ rollRadians: radians * direction })))!;
        const found = (rolled.figures.roll.value! * Math.PI) / 180;
        expect(Math.abs(found - radians) * 6).toBeLessThan(0.001);
      }),
      { seed: 23, numRuns: 3 },
    );
  });

  const street = createStreet({ origin: [0, 0], heightAtOrigin: 12, ...bare });
  const sound = scan([undefined], 16);
  const survey = surveyPoints(street, {
    count: 9,
    role: 'check',
    prefix: 'CP',
    uFrom: 1.5,
    uTo: 14.5,
    vFrom: -2.5,
    vTo: 2.5,
    sigma: 0.002,
    seed: 5,
  });
  const options = { maxRmse: 0.02, minPoints: 8 };
  const before = verdictOf(verticalAccuracy, options, sound, { survey: surveyed(survey) });

  it('a blunder at one point, named, to its size', () => {
    expect(before.state).toBe('pass');
    const size = fc
      .tuple(fc.integer({ min: 90, max: 3000 }), fc.boolean())
      .map(([v, up]) => ((up ? 1 : -1) * v) / 1000);
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 8 }), size, (which, planted) => {
        const points = surveyed(survey);
        points[which].z += planted;
        const verdict = verdictOf(verticalAccuracy, options, sound, { survey: points });
        expect(verdict.state).toBe('fail');
        expect(figuresOf(verdict).blunders).toBe(1);
        const [own, was] = [verdict.surveyPoints![which], before.surveyPoints![which]];
        expect(own.status).toBe('blunder');
        expect(Math.abs(was.dz! - own.dz! - planted)).toBeLessThan(0.001);
        expect(verdict.causes!.map(({ rule }) => rule)).toContain('single-blunder');
        expect(verdict.causes!.find(({ rule }) => rule === 'single-blunder')!.text).toContain(`Only ${own.id} `);
      }),
      { seed: 24, numRuns: 12 },
    );
  });

  it('heights in the wrong unit, and coordinates in the right one', () => {
    // Exact by definition: 0.3048 m, and 1200/3937 m.
    const foot = fc.constantFrom(0.3048, 1200 / 3937);
    fc.assert(
      fc.property(foot, fc.boolean(), (metres, inCloud) => {
        const points = surveyed(survey).map((p) => (inCloud ? p : { ...p, z: p.z / metres }));
        const cloud = inCloud ? { ...sound, z: sound.z.map((z) => z / metres) } : sound;
        const verdict = verdictOf(verticalAccuracy, options, cloud, { survey: points });
        const cause = verdict.causes!.find(({ rule }) => rule === 'height-unit')!;
        const ratio = inCloud ? 1 / metres : metres;
        // 5 mm at the heights of the street, some 12 m
        expect(Math.abs(cause.figures.ratio.value! - ratio) * 12).toBeLessThan(0.005);
        expect(verdict.causes!.map(({ rule }) => rule)).not.toContain('constant-height-offset');
        const told = verdictOf(
          verticalAccuracy,
          options,
          inUnit(sound, metres),
          { survey: surveyed(survey) },
          {
            horizontalUnit: metres,
            heightUnit: metres,
            scale: 0.0001,
          },
        );
        const [there, here] = [figuresOf(told), figuresOf(before)];
        for (const [name, value] of Object.entries(here))
          if (value !== null) expect(Math.abs(there[name]! - value), name).toBeLessThan(0.0001);
      }),
      { seed: 25, numRuns: 4 },
    );
  });
});

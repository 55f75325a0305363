import { describe, expect, it } from 'vitest';
import { createBatch } from '../../src/cloud/columns.js';
import { createMeasuredBatch, scaleToWorld } from '../../src/engine/scale-to-world.js';
import { Fault } from '../../src/fault.js';
import { assayFiles, lasOf, soundStreet } from '../checks/check-files.js';

/*
 * The farthest a projected coordinate on Earth can honestly be: a false easting of 40 500 000 m (zone 40 in front of the
 * easting, as in Gauss-Krueger grids of six degrees and of three, up to zone 45), or 20 037 508 m of the Mercator square. In
 * feet 45 500 000 m are 149 000 000; lengths are held against the bound in metres.
 */
const HONEST: [string, number, number][] = [
  ['zone number in front of the easting', 45_500_000, 1],
  ['edge of the Mercator square', -20_037_508.34, 1],
  ['the same in feet', 149_278_215, 0.3048],
];
const ABSURD: [string, number, number][] = [
  ['a thousand million kilometres', 0, 1e12],
  ['an offset nobody can mean', 1e13, 0.001],
  ['an offset whose sum in quanta is beyond every number', 1e308, 0.001],
  ['a scale whose product is beyond every number', 0, 1e305],
];

function placed(offset: number, scale: number, horizontalUnit = 1, axis = 0): void {
  const points = createBatch(new Set(['xyz', 'flags']), 4);
  points.count = 2;
  [points.x, points.y, points.z][axis].set([-5, 2_000_000]);
  const at = { scale: [0.001, 0.001, 0.001], offset: [0, 0, 0] };
  at.scale[axis] = scale;
  at.offset[axis] = offset;
  const units = { address: 'tile.las', horizontalUnit, heightUnit: horizontalUnit };
  scaleToWorld(createMeasuredBatch(points, 4), points, at, 0, units, { by: ['file'] });
}

describe('where points can be', () => {
  it.each(HONEST)('%s is taken', (_, offset, unit) => {
    expect(() => placed(offset, 0.001, unit)).not.toThrow();
  });

  it.each(ABSURD)('%s is a fault that names the axis and what was found, on every axis', (_, offset, scale) => {
    for (const axis of [0, 1, 2]) {
      let fault: unknown = null;
      try {
        placed(offset, scale, 1, axis);
      } catch (error) {
        fault = error;
      }
      expect(fault).toBeInstanceOf(Fault);
      const { code, what, where, found } = (fault as Fault).facts;
      expect([code, where]).toEqual(['coordinates-beyond-range', 'tile.las']);
      expect(what).toContain(`${'xyz'[axis]} coordinates`);
      expect(String(found)).toMatch(/m$/);
      expect(String(found)).not.toMatch(/NaN|undefined/);
    }
  });
});

describe('a tile whose coordinates lie nowhere', () => {
  const street = soundStreet();
  const everyKind = [
    { check: 'header-agreement' },
    { check: 'las-structure' },
    { check: 'density', min: 1, share: 0.01 },
    { check: 'voids', maxArea: 1e6 },
    { check: 'point-distribution', spacing: 0.5 },
    { check: 'duplicates' },
    { check: 'isolated-points', maxShare: 0.5 },
    { check: 'tiling', size: 500 },
    { check: 'edge-match', maxStep: 0.1, maxGap: 1 },
    { check: 'pass-agreement', maxRmsDz: 0.05, maxDz: 0.2 },
    { check: 'pass-drift', maxOffset: 0.05 },
    { check: 'surface-precision', maxRms: 0.05 },
    { check: 'classification', maxHighGround: 0.5 },
    { check: 'point-attributes' },
  ];
  const sound = lasOf(street);

  /** The same points with another scale or offset written over that of the header's first and second axis. */
  function moved(offset: number, scale: number): Uint8Array {
    const bytes = sound.slice();
    const view = new DataView(bytes.buffer);
    for (const axis of [0, 1]) {
      view.setFloat64(131 + 8 * axis, scale, true);
      view.setFloat64(155 + 8 * axis, offset, true);
    }
    return bytes;
  }

  it.each(ABSURD)(
    '(%s) is a named finding; the tile beside it is judged as if it were alone',
    async (_, offset, scale) => {
      const alone = await assayFiles({ 'sound.las': sound }, everyKind);
      const both = await assayFiles({ 'sound.las': sound, 'zz-far.las': moved(offset, scale) }, everyKind);
      expect(both.verdict).not.toBe('accepted');
      const [near, far] = both.files;
      expect(near.fault).toBeNull();
      expect(far.fault).toMatch(/^zz-far\.las: .*coordinates/);
      expect(JSON.stringify(both)).not.toMatch(/internal error|NaN/);
      expect(both.delivery.points).toBe(alone.delivery.points);
      expect(both.delivery.extent).toEqual(alone.delivery.extent);
      for (const check of ['density', 'voids', 'pass-agreement', 'surface-precision']) {
        const of = (report: typeof both) => report.requirements.find((r) => r.check === check)!.measured;
        expect(of(both), check).toEqual(of(alone));
      }
      expect(both.requirements.map((r) => r.verdict)).not.toContain('pass');
    },
  );
});

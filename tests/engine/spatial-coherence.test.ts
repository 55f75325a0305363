import { describe, expect, it } from 'vitest';
import { createBatch } from '../../src/cloud/columns.js';
import type { DeliveredFile } from '../../src/delivery/delivery.js';
import { createMeasuredBatch, scaleToWorld } from '../../src/engine/scale-to-world.js';
import { coherenceLimit } from '../../src/engine/spatial-coherence.js';
import { Fault } from '../../src/fault.js';
import { assayFiles, lasOf, soundStreet } from '../checks/check-files.js';
import { seeded } from '../geometry/seeded.js';

const WHERE = { address: 'tile.las', horizontalUnit: 1, heightUnit: 1 };

/** Points somewhere in squares of these edges, metres, as one batch. */
function placed(count: number, edges: (i: number) => number, roaming: [number, number, number, number] | null): void {
  const random = seeded(3);
  const points = createBatch(new Set(['xyz', 'flags']), count);
  points.count = count;
  for (let i = 0; i < count; i++) {
    points.x[i] = Math.round(random.uniform() * edges(i) * 100);
    points.y[i] = Math.round(random.uniform() * edges(i) * 100);
  }
  const at = { scale: [0.01, 0.01, 0.01], offset: [500_000, 5_900_000, 0] };
  scaleToWorld(createMeasuredBatch(points, count), points, at, 0, { ...WHERE, extentLimit: roaming }, { by: ['file'] });
}
const COUNTRY: [number, number, number, number] = [500_000, 5_900_000, 550_000, 5_950_000];

describe('points that follow one another', () => {
  it('are refused when they are strewn over a country', () => {
    let fault: unknown = null;
    try {
      placed(16_000, () => 50_000, null);
    } catch (error) {
      fault = error;
    }
    expect(fault).toBeInstanceOf(Fault);
    expect((fault as Fault).facts).toMatchObject({ code: 'points-scattered', where: 'tile.las' });
    expect((fault as Fault).message).toMatch(/16,000 points that follow one another are scattered over 2,4\d\d km2/);
  });

  it('are taken when they fill the extent of their header in whatever order, as a first look at a large COPC does', () => {
    expect(() => placed(16_000, () => 50_000, COUNTRY)).not.toThrow();
    // But not when the header says they lie elsewhere.
    expect(() => placed(16_000, () => 50_000, [0, 0, 50_000, 50_000])).toThrow('scattered');
  });

  it.each([
    ['a scan of a street', 16_000, (i: number) => 20 + (i % 7)],
    ['one of ten thousand far away', 16_000, (i: number) => (i % 10_000 === 5 ? 80_000 : 40)],
    ['two thousand all over the place', 2000, () => 80_000],
    ['a thin cloud of a hundred points a hectare', 16_000, () => 1265],
    ['a thinned cloud of a village', 10_653, () => 2800],
  ])('are taken: %s', (_, count, edges) => {
    expect(() => placed(count, edges, null)).not.toThrow();
  });
});

describe('the extent that a header vouches for', () => {
  const file = (pointCount: number, edge: number, horizontalUnit = 1) =>
    ({
      horizontalUnit,
      header: { pointCount, min: [10, 20, 0], max: [10 + edge, 20 + edge, 5] },
    }) as unknown as DeliveredFile;

  it('is that of a file with points enough for it, or no larger than a town, in metres', () => {
    expect(coherenceLimit(file(1e7, 20_000))).toEqual([9, 19, 20_011, 20_021]);
    expect(coherenceLimit(file(1e7, 20_000, 0.3048))![2]).toBeCloseTo(20_010 * 0.3048 + 1, 9);
    // A point in a hundred square metres at the least, but for what is no larger than a town.
    expect(coherenceLimit(file(4e6 - 1, 20_000))).toBeNull();
    expect(coherenceLimit(file(10, 9_999))).not.toBeNull();
    expect(coherenceLimit(file(10, Number.NaN))).toBeNull();
    expect(coherenceLimit({ header: null, horizontalUnit: 1 } as unknown as DeliveredFile)).toBeNull();
  });
});

describe('a tile whose scale is a thousand times too large', () => {
  const sound = lasOf(soundStreet());
  const requirements = [
    { check: 'density', min: 1, share: 0.01 },
    { check: 'voids', maxArea: 1e6 },
    { check: 'pass-agreement', maxRmsDz: 0.05 },
    { check: 'surface-precision', maxRms: 0.05 },
  ];

  it.each([true, false])(
    'is a named finding, whether its header follows (%s) or not; the one beside it is judged as if alone',
    async (follows) => {
      const bytes = sound.slice();
      const view = new DataView(bytes.buffer);
      for (const axis of [0, 1]) {
        view.setFloat64(131 + 8 * axis, view.getFloat64(131 + 8 * axis, true) * 1000, true);
        const offset = view.getFloat64(155 + 8 * axis, true);
        for (const end of [179 + 16 * axis, 187 + 16 * axis]) {
          if (follows) view.setFloat64(end, (view.getFloat64(end, true) - offset) * 1000 + offset, true);
        }
      }
      const alone = await assayFiles({ 'sound.las': sound }, requirements);
      const both = await assayFiles({ 'sound.las': sound, 'zz-wide.las': bytes }, requirements);
      expect(both.verdict).not.toBe('accepted');
      expect(both.files.map(({ fault }) => fault)).toEqual([
        null,
        expect.stringMatching(/^zz-wide\.las: .* are scattered over /),
      ]);
      expect(both.delivery.extent).toEqual(alone.delivery.extent);
      expect(both.requirements.map((r) => r.measured)).toEqual(alone.requirements.map((r) => r.measured));
    },
  );
});

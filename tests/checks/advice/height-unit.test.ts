import { describe, expect, it } from 'vitest';
import { heightUnit } from '../../../src/checks/advice/height-unit.js';
import { heightFacts } from './facts.js';

/** Heights from 4 to 14 m, in the cloud times a ratio, with 5 mm of noise to either side. */
function times(ratio: number, n = 12) {
  const { limit, points } = heightFacts(new Array<number>(n).fill(0));
  return { limit, points: points.map((p, i) => ({ ...p, dz: (ratio - 1) * p.z + (i % 2 === 0 ? 0.005 : -0.005) })) };
}

// The international foot is 0.3048 m, the US survey foot 1200/3937 m, both by definition.
describe('height-unit', () => {
  it('tells feet in the cloud, of either kind', () => {
    for (const foot of [0.3048, 1200 / 3937]) {
      const advice = heightUnit.advise(times(1 / foot))!;
      expect(advice.text).toContain('the cloud holds feet');
      expect(advice.text).toContain('3.28');
      expect(Math.abs(advice.figures.ratio.value! * foot - 1)).toBeLessThan(0.001);
      expect(advice.figures.left.value!).toBeLessThan(0.01);
    }
  });

  it('tells feet in the points file', () => {
    expect(heightUnit.advise(times(0.3048))!.text).toContain('the points file holds feet');
  });

  // Millimetre and centimetre: SI prefixes, 0.001 m and 0.01 m exactly.
  it.each([
    [1000, 'the cloud holds millimetres'],
    [0.001, 'the points file holds millimetres'],
    [100, 'the cloud holds centimetres'],
    [0.01, 'the points file holds centimetres'],
  ])('names the units at a ratio of %d', (ratio, text) => {
    const { limit, points } = heightFacts(new Array<number>(12).fill(0));
    // The side that holds metres has heights from 4 to 14 m with 5 mm of noise.
    const cloud = (z: number, i: number) => Math.max(ratio, 1) * (z + (i % 2 === 0 ? 0.005 : -0.005));
    const surveyed = (z: number) => (ratio > 1 ? z : z / ratio);
    const mixed = points.map((p, i) => ({ ...p, z: surveyed(p.z), dz: cloud(p.z, i) - surveyed(p.z) }));
    const advice = heightUnit.advise({ limit, points: mixed })!;
    expect(advice.text).toContain(text);
    expect(advice.figures.ratio.value! / ratio).toBeCloseTo(1, 2);
  });

  it('is quiet at other ratios, and for a constant offset of metres', () => {
    expect(heightUnit.advise(times(1.05))).toBeNull();
    expect(heightUnit.advise(times(0.33))).toBeNull();
    expect(heightUnit.advise(heightFacts(new Array<number>(12).fill(20)))).toBeNull();
  });

  it('is quiet where heights are right, and at two points', () => {
    expect(heightUnit.advise(heightFacts([0.01, -0.01, 0.02]))).toBeNull();
    expect(heightUnit.advise(times(0.3048, 2))).toBeNull();
  });
});

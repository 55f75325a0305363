import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { LayerHead } from '../../../src/report/html/viewer/payload.js';
import { type Rgb, rampFor, rangeOf } from '../../../src/report/html/viewer/ramps.js';
import { between, fitView, panBy, toScreen, toWorld, type View, zoomAt } from '../../../src/report/html/viewer/view.js';

const size = { width: 800, height: 500 };
const aView: fc.Arbitrary<View> = fc.record({
  x: fc.double({ min: 500_000, max: 600_000, noNaN: true }),
  y: fc.double({ min: 5_900_000, max: 6_000_000, noNaN: true }),
  scale: fc.double({ min: 0.01, max: 500, noNaN: true }),
});
const aPixel = fc.tuple(fc.integer({ min: 0, max: 800 }), fc.integer({ min: 0, max: 500 }));

describe('views', () => {
  test('a pixel goes to the world and back', () => {
    fc.assert(
      fc.property(aView, aPixel, (view, [px, py]) => {
        const [x, y] = toWorld(view, size, px, py);
        const [qx, qy] = toScreen(view, size, x, y);
        expect(qx).toBeCloseTo(px, 4);
        expect(qy).toBeCloseTo(py, 4);
      }),
      { seed: 31 },
    );
  });

  test('north is up, east to the right', () => {
    const view = { x: 0, y: 0, scale: 10 };
    expect(toScreen(view, size, 1, 1)).toEqual([410, 240]);
  });

  test('zooming keeps the world under the pointer', () => {
    fc.assert(
      fc.property(aView, aPixel, fc.double({ min: 0.2, max: 5, noNaN: true }), (view, [px, py], factor) => {
        const before = toWorld(view, size, px, py);
        const after = toWorld(zoomAt(view, size, px, py, factor), size, px, py);
        expect(after[0]).toBeCloseTo(before[0], 5);
        expect(after[1]).toBeCloseTo(before[1], 5);
      }),
      { seed: 32 },
    );
  });

  test('what is dragged follows the pointer', () => {
    fc.assert(
      fc.property(aView, aPixel, (view, [px, py]) => {
        const [x, y] = toWorld(view, size, px, py);
        const [qx, qy] = toScreen(panBy(view, 30, -20), size, x, y);
        expect(qx).toBeCloseTo(px + 30, 4);
        expect(qy).toBeCloseTo(py - 20, 4);
      }),
      { seed: 33 },
    );
  });

  test('a box fits with its margin, whatever its shape', () => {
    for (const box of [
      [0, 0, 100, 1],
      [0, 0, 1, 100],
      [5, 5, 5, 5],
    ]) {
      const view = fitView(box, size, 24);
      const [x0, y1] = toScreen(view, size, box[0], box[1]);
      const [x1, y0] = toScreen(view, size, box[2], box[3]);
      expect(Math.min(x0, y0)).toBeGreaterThanOrEqual(24 - 1e-9);
      expect(x1).toBeLessThanOrEqual(size.width - 24 + 1e-9);
      expect(y1).toBeLessThanOrEqual(size.height - 24 + 1e-9);
    }
  });

  test('a flight begins and ends where it should, and scales evenly on the way', () => {
    fc.assert(
      fc.property(aView, aView, (from, to) => {
        for (const [share, at] of [
          [0, from],
          [1, to],
        ] as const) {
          const view = between(from, to, share);
          expect(view.x).toBeCloseTo(at.x, 3);
          expect(view.y).toBeCloseTo(at.y, 3);
          expect(view.scale / at.scale).toBeCloseTo(1, 9);
        }
        expect(between(from, to, 0.5).scale).toBeCloseTo(Math.sqrt(from.scale * to.scale), 6);
      }),
      { seed: 34 },
    );
  });
});

const plain = { unit: 'points/m2', signed: false, limit: null, sense: null, cells: 10 } as LayerHead;
const signed = { ...plain, unit: 'm', signed: true, limit: 0.03, sense: 'at-most' } as LayerHead;

/** Lightness L* of CIE 1976 for sRGB and white D65 (CIE 15; IEC 61966-2-1 for the transfer curve). */
function lightness([r, g, b]: Rgb): number {
  const linear = [r, g, b].map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
  const y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
  return y > 216 / 24389 ? 116 * Math.cbrt(y) - 16 : (24389 / 27) * y;
}

describe('colours', () => {
  test('black and white have lightness 0 and 100', () => {
    expect(lightness([0, 0, 0])).toBeCloseTo(0, 6);
    expect(lightness([255, 255, 255])).toBeCloseTo(100, 6);
  });

  test.each([
    ['points/m2', plain],
    ['count', { ...plain, unit: 'count' } as LayerHead],
  ])('sequences rise evenly in lightness (what makes a colour map perceptually even): %s', (_, head) => {
    const ramp = rampFor(head, 0, 1);
    const steps = Array.from({ length: 41 }, (_v, k) => lightness(ramp.colourOf(k / 40)));
    const rises = steps.slice(1).map((l, k) => l - steps[k]);
    const mean = (steps[40] - steps[0]) / 40;
    expect(mean).toBeGreaterThan(1.4);
    for (const rise of rises) {
      expect(rise).toBeGreaterThan(0);
      expect(rise).toBeLessThan(2.2 * mean);
    }
  });

  test('differences darken away from zero on both sides alike, with a step at the limit', () => {
    const ramp = rampFor(signed, -0.05, 0.05);
    for (const side of [-1, 1]) {
      const at = (v: number) => lightness(ramp.colourOf(side * v));
      expect(at(0.01)).toBeLessThan(at(0));
      expect(at(0.029)).toBeLessThan(at(0.01));
      expect(at(0.0301)).toBeLessThan(at(0.0299) - 8);
      expect(at(0.05)).toBeLessThan(at(0.031));
    }
    expect(Math.abs(lightness(ramp.colourOf(0.02)) - lightness(ramp.colourOf(-0.02)))).toBeLessThan(8);
  });

  test('values off the scale have the colour of its end', () => {
    const ramp = rampFor(plain, 0, 10);
    expect(ramp.colourOf(99)).toEqual(ramp.colourOf(10));
    expect(ramp.colourOf(-99)).toEqual(ramp.colourOf(0));
  });

  test('the range leaves out the outermost hundredth and always holds the limit', () => {
    const values = Array.from({ length: 1000 }, (_, k) => (k === 0 ? -500 : k === 999 ? 500 : k / 1000));
    expect(rangeOf(values, plain)).toMatchObject({ min: -500, max: 500 });
    expect(rangeOf(values, plain).high).toBeLessThan(1);
    expect(rangeOf([0.001, 0.002], signed)).toMatchObject({ low: -0.045, high: 0.045 });
    expect(rangeOf([5, 5], plain).high).toBeGreaterThan(rangeOf([5, 5], plain).low);
    expect(rangeOf([], plain)).toMatchObject({ low: 0, high: 1 });
  });
});

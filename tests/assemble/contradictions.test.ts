import { describe, expect, it } from 'vitest';
import { contradictions } from '../../src/assemble/contradictions.js';
import { deliveryOf, fileOf } from '../checks/judge.js';

const FOOT = 0.3048; // The international foot, exactly, since 1959.

/** A tile of 100 m with heights from low to high, without a coordinate system unless `crs` says otherwise. */
const tile = (name: string, index: number, column: number, low: number, high: number, crs: object | null = null) =>
  fileOf(name, index, { header: { min: [column * 100, 0, low], max: [column * 100 + 100, 100, high] }, crs });
const codesOf = (files: ReturnType<typeof tile>[], gap?: number) => {
  const passRule = { by: ['point-source-id'], ...(gap === undefined ? {} : { gap }) };
  return contradictions(deliveryOf({ files, passRule } as Parameters<typeof deliveryOf>[0]));
};

describe('heights of one file in feet', () => {
  it('are named where the others are in metres', () => {
    const files = [tile('a.las', 0, 0, 52, 61), tile('b.las', 1, 1, 53 / FOOT, 62 / FOOT), tile('c.las', 2, 2, 54, 63)];
    const found = codesOf(files);
    expect(found.map(({ code, file }) => [code, file])).toEqual([['height-unit', 'b.las']]);
    expect(found[0].text).toContain('173.9 to 203.4 m');
    expect(found[0].text).toContain('multiplied by 0.3048');
  });

  it('are not suspected where the ground goes on, lies elsewhere, differs by another factor, or units are stated', () => {
    // A steep hill; a tile that adjoins none; a bridge twice as high; stated units on both sides.
    expect(codesOf([tile('a.las', 0, 0, 50, 160), tile('b.las', 1, 1, 158, 500)])).toEqual([]);
    expect(codesOf([tile('a.las', 0, 0, 52, 61), tile('b.las', 1, 5, 53 / FOOT, 62 / FOOT)])).toEqual([]);
    expect(codesOf([tile('a.las', 0, 0, 52, 61), tile('b.las', 1, 1, 104, 122)])).toEqual([]);
    expect(codesOf([tile('a.las', 0, 0, 52, 61, {}), tile('b.las', 1, 1, 53 / FOOT, 62 / FOOT, {})])).toEqual([]);
  });
});

describe('GPS times of two kinds', () => {
  const timed = (name: string, index: number, globalEncoding: number, pointFormat = 6) =>
    fileOf(name, index, { header: { globalEncoding, pointFormat } });

  it('are named where passes are separated by time, and nowhere else', () => {
    // LAS 1.4 R16, global encoding bit 0: 1 for adjusted standard GPS time, 0 for seconds of the week.
    const files = [timed('a.las', 0, 1), timed('b.las', 1, 0), timed('c.las', 2, 17)];
    const found = codesOf(files, 30);
    expect(found.map(({ code }) => code)).toEqual(['gps-time-mixed']);
    expect(found[0].text).toContain(
      'seconds of the week in 1 file (b.las) and standard GPS time in 2 files (a.las, c.las)',
    );
    expect(codesOf(files)).toEqual([]);
    expect(codesOf([timed('a.las', 0, 1), timed('b.las', 1, 0, 2)], 30)).toEqual([]);
    expect(codesOf([timed('a.las', 0, 0), timed('b.las', 1, 0)], 30)).toEqual([]);
  });
});

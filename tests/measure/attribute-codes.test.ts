import { describe, expect, it } from 'vitest';
import { attributeCodes, type FileAttributes } from '../../src/measure/attribute-codes.js';
import { type Attribute, Code } from '../../src/measure/attributes/code-counts.js';
import { batchOf, measureFiles, type TestPoint } from './point-batches.js';

const ALL: Attribute[] = ['angle', 'class', 'colour', 'intensity', 'place', 'returns', 'source', 'time'];
const PLAIN = { attributes: ALL, wholeDegrees: [] as number[], within: null, area: null };

function measure(points: TestPoint[], params: object = {}): FileAttributes {
  return (measureFiles(attributeCodes, { ...PLAIN, ...params }, [points], 3) as FileAttributes[])[0];
}

const counts = (found: FileAttributes, begin: number, end: number) =>
  Object.fromEntries(
    [...found.codes].filter(([c]) => c >= begin && c < end).map(([c, { points }]) => [c - begin, points]),
  );

describe('attribute codes', () => {
  it('counts classes and returns, and knows the first point of each', () => {
    const found = measure([
      { x: 1, y: 2, z: 3, class: 2, of: [1, 2] },
      { x: 4, y: 5, z: 6, class: 64, of: [2, 2] },
      { x: 7, y: 8, z: 9, class: 2, of: [3, 2] },
      { x: 1, y: 1, z: 1, class: 64, of: [0, 0] },
    ]);
    expect(found.points).toBe(4);
    expect(counts(found, Code.class, 256)).toEqual({ 2: 2, 64: 2 });
    expect(counts(found, Code.returns, 512)).toEqual({ [1 + 32]: 1, [2 + 32]: 1, [3 + 32]: 1, 0: 1 });
    expect(found.codes.get(Code.class + 64)!.first).toEqual({ x: 561_004, y: 5_932_005, z: 6 });
  });

  it('looks at withheld points for their flags only', () => {
    const found = measure([
      { x: 0, y: 0, class: 7, flags: 4, intensity: 9 },
      { x: 0, y: 0, class: 2, flags: 8, intensity: 5 },
      { x: 0, y: 0, class: 2, flags: 1 + 8, intensity: 6 },
    ]);
    expect(found.points).toBe(2);
    expect(found.withheld).toBe(1);
    expect(counts(found, Code.flags, Code.end)).toEqual({ 4: 1, 8: 1, 9: 1 });
    expect(counts(found, Code.class, 256)).toEqual({ 2: 2 });
    expect(found.intensity).toEqual([5, 6]);
  });

  it('sorts scan angles into whole degrees upwards: 0.006 degree a step, or whole degrees as stored', () => {
    // 30,000 steps are 180 degrees (LAS 1.4 R16): 15,000 are 90, 167 are 1.002, 166 are 0.996.
    const angles = [0, 1, 166, -167, 15_000, -15_001, 30_000, 30_001, -32_768];
    const fine = measure(angles.map((angle) => ({ x: 0, y: 0, angle })));
    expect(counts(fine, Code.angle, Code.angle + 200)).toEqual({
      0: 1,
      1: 2,
      2: 1,
      90: 1,
      91: 1,
      180: 1,
      181: 1,
      197: 1,
    });
    const whole = measure(
      [0, 1, -1, 90, -91, -128].map((angle) => ({ x: 0, y: 0, angle })),
      { wholeDegrees: [0] },
    );
    expect(counts(whole, Code.angle, Code.angle + 200)).toEqual({ 0: 1, 1: 2, 90: 1, 91: 1, 128: 1 });
  });

  it('tells kinds of GPS time apart at their bounds', () => {
    const times = [0, Number.NaN, Infinity, 1e-9, 604_800, 604_800.001, 419_724_800, -1, -1e9, -1e9 - 1];
    const found = measure(times.map((time) => ({ x: 0, y: 0, time })));
    expect(counts(found, Code.timeMissing, Code.colourBlack)).toEqual({ 0: 3, 1: 2, 2: 2, 3: 2, 4: 1 });
    expect(found.time).toEqual([-1e9 - 1, 419_724_800]);
  });

  it('finds black points and the largest colour; a format without colour has none', () => {
    const found = measure([
      { x: 0, y: 0, colour: [0, 0, 0] },
      { x: 0, y: 0, colour: [1, 700, 3] },
    ]);
    expect(found.colourMax).toBe(700);
    expect(found.codes.get(Code.colourBlack)!.points).toBe(1);
    const state = attributeCodes.create(PLAIN);
    attributeCodes.add(
      state,
      batchOf([{ x: 0, y: 0 }], {
        columns: ['xyz', 'flags', 'returns', 'classification', 'intensity', 'pointSourceId', 'scanAngle'],
      }),
    );
    const [plain] = attributeCodes.finish(state, PLAIN);
    expect(plain.colourMax).toBeNull();
    expect(plain.time).toBeNull();
  });

  it('counts inside a zone only, and points outside an area', () => {
    const square = (side: number) => ({
      polygons: [
        {
          outer: [
            561_000,
            5_932_000,
            561_000 + side,
            5_932_000,
            561_000 + side,
            5_932_000 + side,
            561_000,
            5_932_000 + side,
          ],
          holes: [],
        },
      ],
      margin: 0,
    });
    const points = Array.from({ length: 10 }, (_, k) => ({ x: k + 0.5, y: 0.5, class: k, source: k }));
    const found = measure(points, { within: square(6), area: square(4) });
    expect(found.points).toBe(6);
    expect(counts(found, Code.class, 256)).toEqual({ 0: 1, 1: 1, 2: 1, 3: 1, 4: 1, 5: 1 });
    expect(found.codes.get(Code.placeOutside)).toEqual({ points: 2, first: { x: 561_004.5, y: 5_932_000.5, z: 0 } });
    expect(found.codes.get(Code.sourceZero)!.points).toBe(1);
    expect(measureFiles(attributeCodes, { ...PLAIN, within: square(6) }, [[{ x: 50, y: 50 }]])).toEqual([]);
  });
});

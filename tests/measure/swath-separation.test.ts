import { describe, expect, it } from 'vitest';
import { swathSeparation } from '../../src/measure/swath-separation.js';
import { heightsOf, nineCells } from './heights-by-hand.js';

const params = { cell: 2, minPoints: 3 };

describe('separation of swaths', () => {
  it('is later minus earlier pass, cell by cell, with mean, root mean square and largest worked out by hand', () => {
    // Nine cells: eight are 0.03 m higher in pass 2, the one in the middle is 0.06 m lower.
    const a = heightsOf(
      1,
      nineCells(() => 5),
    );
    const b = heightsOf(
      2,
      nineCells((c, r) => (c === 0 && r === 0 ? 4.94 : 5.03)),
    );
    const { pairs, passes, voxel } = swathSeparation.derive([a, b], params);
    expect([passes, voxel]).toEqual([[1, 2], 2]);
    expect(pairs).toHaveLength(1);
    const [pair] = pairs;
    expect(pair).toMatchObject({
      a: 1,
      b: 2,
      shared: 9,
      dense: 9,
      overlapArea: 36,
      comparedArea: 36,
      cells: 9,
      rejected: 0,
      shift: [null, null, null],
    });
    expect(pair.meanDz).toBeCloseTo((8 * 0.03 - 0.06) / 9, 12);
    expect(pair.rmsDz).toBeCloseTo(Math.sqrt((8 * 0.03 ** 2 + 0.06 ** 2) / 9), 12);
    expect(pair.maxDz).toBeCloseTo(0.06, 12);
    expect(pair.worst[0]).toMatchObject({ x: 1, y: 1 });
    expect(pair.worst[0].dz).toBeCloseTo(-0.06, 12);
    expect(pair.worst[0].z).toBeCloseTo(4.98, 12);
    expect([...pair.map.dz].filter((v) => v < 0)).toHaveLength(1);
  });

  it('leaves out cells with too few points in either pass, and steep ground', () => {
    const flat = heightsOf(
      1,
      nineCells(() => 5),
    );
    const few = heightsOf(
      2,
      nineCells(() => 5, 2),
    );
    for (const passes of [
      [flat, few],
      [few, flat],
    ])
      expect(swathSeparation.derive(passes, params).pairs[0]).toMatchObject({
        shared: 9,
        dense: 0,
        cells: 0,
        meanDz: null,
      });
    const steep = heightsOf(
      3,
      nineCells((c) => 5 + 0.36 * c),
    );
    expect(swathSeparation.derive([flat, steep], params).pairs[0]).toMatchObject({ dense: 9, cells: 0 });
    // A cell needs three neighbours, so that its slope shows.
    const two = heightsOf(2, nineCells(() => 5).slice(0, 3));
    expect(swathSeparation.derive([flat, two], params).pairs[0]).toMatchObject({ shared: 3, cells: 0 });
  });

  it('compares every two passes that meet, and inside the area only', () => {
    const [a, b, c] = [1, 2, 3].map((pass) =>
      heightsOf(
        pass,
        nineCells(() => pass),
      ),
    );
    const far = heightsOf(9, [[50, 50, 9, 1, 1, 1]]);
    const { pairs } = swathSeparation.derive([a, b, c, far], params);
    expect(pairs.map((pair) => [pair.a, pair.b, Number(pair.meanDz!.toFixed(9))])).toEqual([
      [1, 2, 1],
      [1, 3, 2],
      [2, 3, 1],
    ]);
    const area = { polygons: [{ outer: [0, 0, 9, 0, 9, 9, 0, 9], holes: [] }], margin: 0 };
    expect(swathSeparation.derive([a, b], { ...params, area }).pairs[0].shared).toBe(4);
    expect(swathSeparation.derive([], params)).toEqual({ voxel: 2, passes: [], pairs: [] });
  });
});

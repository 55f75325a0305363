import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type MomentVoxels, VOXEL_BYTES, WIDE_BYTES } from '../../../src/kernel/voxel-record.js';
import { BLOCK_SIDE } from '../../../src/kernel/voxels-by-block.js';
import {
  appendVoxels,
  createVoxelLists,
  cutVoxels,
  packVoxels,
  recycleLists,
  type VoxelLists,
} from '../../../src/measure/planes/voxel-list.js';
import { openBuffer } from '../../../src/measure/planes/voxel-list-blocks.js';

const SIDE = 2500;
const guard = { mostPoints: 2 ** 50, tooMany: () => new Error('too many points') };
const lists = () => createVoxelLists(SIDE, guard);

/** Column, row, level, pass; then n x y z xx xy xz yy yz zz. */
interface TestCube {
  key: [number, number, number, number];
  sums: number[];
}

const column = fc.oneof(fc.integer({ min: -3, max: 3 }), fc.constantFrom(-BLOCK_SIDE, BLOCK_SIDE - 1, BLOCK_SIDE));
const voxel: fc.Arbitrary<TestCube> = fc.record({
  key: fc.tuple(column, column, fc.integer({ min: -2, max: 2 }), fc.constantFrom(0, 1, 65_535)),
  sums: fc.array(fc.integer({ min: 0, max: 2 ** 31 }), { minLength: 10, maxLength: 10 }),
});

function small(voxels: readonly TestCube[]): MomentVoxels {
  const bytes = new Uint8Array(voxels.length * VOXEL_BYTES);
  voxels.forEach(({ key, sums: [n, x, y, z, xx, xy, xz, yy, yz, zz] }, i) => {
    new Int32Array(bytes.buffer, i * VOXEL_BYTES, 4).set(key);
    new Uint32Array(bytes.buffer, i * VOXEL_BYTES + 16, 12).set([x, y, z, n, xx, yy, zz, n, xy, yz, xz, n]);
  });
  return { wide: false, bytes };
}

function wide(voxels: readonly TestCube[]): MomentVoxels {
  const bytes = new Uint8Array(voxels.length * WIDE_BYTES);
  voxels.forEach(({ key, sums }, i) => {
    new Int32Array(bytes.buffer, i * WIDE_BYTES, 4).set(key);
    new Float64Array(bytes.buffer, i * WIDE_BYTES + 16, 10).set(sums);
  });
  return { wide: true, bytes };
}

/** Every voxel once, sorted, sums by definition. */
function reference(voxels: readonly TestCube[]): TestCube[] {
  const known = new Map<string, TestCube>();
  for (const { key, sums } of voxels) {
    const before = known.get(key.join())?.sums ?? Array<number>(10).fill(0);
    known.set(key.join(), { key, sums: sums.map((v, k) => v + before[k]) });
  }
  return [...known.values()].sort(({ key: a }, { key: b }) => a.map((v, k) => v - b[k]).find((d) => d !== 0) ?? 0);
}

function cubesIn(packed: ArrayBuffer): TestCube[] {
  const voxels = openBuffer(packed, SIDE);
  expect(voxels.wide).toBe(true);
  const { buffer, byteOffset } = voxels.bytes;
  return Array.from({ length: voxels.bytes.length / WIDE_BYTES }, (_, i) => ({
    key: [...new Int32Array(buffer, byteOffset + i * WIDE_BYTES, 4)] as TestCube['key'],
    sums: [...new Float64Array(buffer, byteOffset + i * WIDE_BYTES + 16, 10)],
  }));
}

/** Puts pieces together as it is done with what comes from several threads. */
function together(pieces: readonly ArrayBuffer[]): ArrayBuffer {
  const all = lists();
  for (const piece of pieces) appendVoxels(all, openBuffer(piece, SIDE));
  return packVoxels(all);
}

describe('lists of voxels', () => {
  const some = fc.array(fc.tuple(voxel, fc.boolean()), { minLength: 1, maxLength: 80 });
  const filled = (all: readonly (readonly [TestCube, boolean])[]): VoxelLists => {
    const filling = lists();
    for (const [one, isWide] of all) appendVoxels(filling, isWide ? wide([one]) : small([one]));
    return filling;
  };

  it('pack to every voxel once, in order, whatever form it came in', () => {
    fc.assert(
      fc.property(some, (all) => {
        expect(cubesIn(packVoxels(filled(all)))).toEqual(reference(all.map(([one]) => one)));
      }),
      { seed: 71, numRuns: 200 },
    );
  });

  it('are cut into areas that hold their own voxels and those of the next ones that they need', () => {
    fc.assert(
      fc.property(some, (all) => {
        const areas = new Map<string, ArrayBuffer[]>();
        for (const { column, row, packed } of cutVoxels(filled(all)))
          areas.set(`${column} ${row}`, [...(areas.get(`${column} ${row}`) ?? []), packed]);
        for (const [name, pieces] of areas) {
          const [west, south] = name.split(' ').map((v) => Number(v) * BLOCK_SIDE);
          const near = ([x, y]: readonly number[]) =>
            x >= west && x <= west + BLOCK_SIDE && y >= south && y <= south + BLOCK_SIDE;
          const expected = reference(all.map(([one]) => one).filter(({ key }) => near(key)));
          expect(cubesIn(together(pieces))).toEqual(expected);
        }
        const own = all.map(([{ key }]) => `${Math.floor(key[0] / BLOCK_SIDE)} ${Math.floor(key[1] / BLOCK_SIDE)}`);
        expect([...areas.keys()]).toEqual(expect.arrayContaining(own));
      }),
      { seed: 72, numRuns: 100 },
    );
  });

  it('do not grow with the points: what is much is put together on the way', () => {
    const filling = lists();
    // 300,000 small voxels are 19 MB, and 1,000 different ones in the wide form 0.1 MB.
    const once = Array.from(
      { length: 1000 },
      (_, i): TestCube => ({ key: [1 + (i % 30), 1, 0, i], sums: Array(10).fill(i) }),
    );
    const bytes = small(once);
    for (let k = 0; k < 300; k++) appendVoxels(filling, bytes);
    expect(cubesIn(packVoxels(filling))).toEqual(
      reference(once.map(({ key, sums }) => ({ key, sums: sums.map((v) => v * 300) }))),
    );
    const held = cutVoxels(filling).reduce((sum, { packed }) => sum + packed.byteLength, 0);
    expect(held).toBeLessThan(4 << 20);
  });

  it('give back blocks that are then used again, and refuse what was measured otherwise', () => {
    const filling = lists();
    appendVoxels(
      filling,
      small(Array.from({ length: 3000 }, (_, i) => ({ key: [5, 5, i, 1], sums: Array(10).fill(1) }))),
    );
    const [{ packed }] = cutVoxels(filling);
    recycleLists(filling);
    expect(() => openBuffer(packed, SIDE + 1)).toThrow(RangeError);
    expect(() => openBuffer(new ArrayBuffer(64), SIDE)).toThrow(RangeError);
  });

  it('stop where a voxel holds more points than can be summed exactly', () => {
    const filling = createVoxelLists(SIDE, { mostPoints: 100, tooMany: () => new Error('too many points') });
    const one: TestCube = { key: [1, 1, 1, 1], sums: [60, ...Array(9).fill(0)] };
    appendVoxels(filling, small([one, one]));
    expect(() => packVoxels(filling)).toThrow('too many points');
  });
});

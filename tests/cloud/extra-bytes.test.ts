import { describe, expect, test } from 'vitest';
import { decodeExtraByte, findExtraByte } from '../../src/cloud/extra-bytes.js';
import { openCloud } from '../../src/cloud/open.js';
import { collect } from './collect.js';
import { buildLas, text } from './las-builder.js';
import { MemorySource } from './memory-source.js';

// Descriptor layout: LAS specification 1.4 revision 16 (ASPRS), extra bytes record (192 bytes); the arrays of types 11 to
// 30 are from revision 12 of the same text, since deprecated.

interface Descriptor {
  type: number;
  options?: number;
  name: string;
  set?: (view: DataView) => void;
}

function descriptor({ type, options = 0, name, set }: Descriptor): Uint8Array {
  const bytes = new Uint8Array(192);
  const view = new DataView(bytes.buffer);
  view.setUint8(2, type);
  view.setUint8(3, options);
  text(view, 4, name);
  text(view, 160, `about ${name}`.slice(0, 32));
  set?.(view);
  return bytes;
}

/** A cloud of format 6 whose points carry `extra` bytes each. */
async function cloudOf(descriptors: Descriptor[], extra: Uint8Array[]) {
  const width = extra[0].length;
  const points = new Uint8Array(extra.length * (30 + width));
  extra.forEach((e, i) => {
    points.set(e, i * (30 + width) + 30);
  });
  const payload = new Uint8Array(192 * descriptors.length);
  descriptors.forEach((d, i) => {
    payload.set(descriptor(d), 192 * i);
  });
  const vlrs = descriptors.length > 0 ? [{ userId: 'LASF_Spec', recordId: 4, payload }] : [];
  const bytes = buildLas({ minor: 4, format: 6, recordLength: 30 + width, points, vlrs });
  return openCloud(new MemorySource(bytes));
}

const bytesOf = (size: number, write: (view: DataView) => void) => {
  const bytes = new Uint8Array(size);
  write(new DataView(bytes.buffer));
  return bytes;
};
const oddRules = (cloud: { formatIssues: readonly { rule: string }[] }) =>
  cloud.formatIssues.map((o) => o.rule).filter((r) => r.startsWith('extra'));

describe('every type', () => {
  // type number, bytes, a value it can hold, how it is written
  const types: [number, number, number, (v: DataView) => void][] = [
    [1, 1, 250, (v) => v.setUint8(0, 250)],
    [2, 1, -5, (v) => v.setInt8(0, -5)],
    [3, 2, 65000, (v) => v.setUint16(0, 65000, true)],
    [4, 2, -32000, (v) => v.setInt16(0, -32000, true)],
    [5, 4, 4e9, (v) => v.setUint32(0, 4e9, true)],
    [6, 4, -2e9, (v) => v.setInt32(0, -2e9, true)],
    [7, 8, 2 ** 52 + 1, (v) => v.setBigUint64(0, 2n ** 52n + 1n, true)],
    [8, 8, -(2 ** 52) - 1, (v) => v.setBigInt64(0, -(2n ** 52n) - 1n, true)],
    [9, 4, 1.5, (v) => v.setFloat32(0, 1.5, true)],
    [10, 8, 1e-300, (v) => v.setFloat64(0, 1e-300, true)],
  ];
  test.each(types)('type %i of %i bytes holds %d', async (type, size, value, write) => {
    const cloud = await cloudOf([{ type, name: 'v' }], [bytesOf(size, write)]);
    expect(oddRules(cloud)).toEqual([]);
    const [extra] = cloud.extraBytes;
    expect(extra).toMatchObject({
      name: 'v',
      description: 'about v',
      typeCode: type,
      size,
      offset: 0,
      members: 1,
      noData: null,
      min: null,
      max: null,
    });
    const batch = await collect(cloud);
    expect([...decodeExtraByte(extra, batch, new Float64Array(1))]).toEqual([value]);
  });

  test.each(types)('type %i in the deprecated arrays of two and three', async (type, size, value, write) => {
    const bytes = bytesOf(5 * size, (v) => {
      write(new DataView(v.buffer, size, size));
      write(new DataView(v.buffer, 4 * size, size));
    });
    const cloud = await cloudOf(
      [
        { type: type + 10, name: 'two' },
        { type: type + 20, name: 'three' },
      ],
      [bytes],
    );
    expect(oddRules(cloud)).toEqual(['extra-bytes-deprecated', 'extra-bytes-deprecated']);
    const [two, three] = cloud.extraBytes;
    expect([two.members, two.size, three.members, three.size, three.offset]).toEqual([
      2,
      2 * size,
      3,
      3 * size,
      2 * size,
    ]);
    const batch = await collect(cloud);
    const member = (e: typeof two, m: number) => decodeExtraByte(e, batch, new Float64Array(1), m)[0];
    expect([member(two, 0), member(two, 1)]).toEqual([0, value]);
    expect([member(three, 0), member(three, 1), member(three, 2)]).toEqual([0, 0, value]);
  });

  test('type 0 has its number of bytes in the options', async () => {
    const cloud = await cloudOf(
      [
        { type: 0, options: 3, name: 'blob' },
        { type: 1, name: 'u' },
      ],
      [Uint8Array.of(9, 8, 7, 6)],
    );
    expect(cloud.extraBytes.map((e) => [e.type, e.size, e.offset])).toEqual([
      ['bytes', 3, 0],
      ['u8', 1, 3],
    ]);
    expect(oddRules(cloud)).toEqual([]);
  });
});

test('scale, offset, no-data and extremes only where their option bits are set', async () => {
  const fill = (v: DataView) => {
    v.setBigInt64(40, -999n, true);
    v.setBigInt64(64, -10n, true);
    v.setBigInt64(88, 500n, true);
    v.setFloat64(112, 0.01, true);
    v.setFloat64(136, 100, true);
  };
  const stored = [-999, 0, 250].map((n) => bytesOf(2, (v) => v.setInt16(0, n, true)));
  const all = await cloudOf([{ type: 4, options: 31, name: 'h', set: fill }], stored);
  expect(oddRules(all)).toEqual([]);
  const h = findExtraByte(all.extraBytes, 'h')!;
  expect(h).toMatchObject({ scale: [0.01], shift: [100], noData: [-999], min: [-10], max: [500] });
  const values = decodeExtraByte(h, await collect(all), new Float64Array(3));
  // -999 stands for "no value"; 0 * 0.01 + 100; 250 * 0.01 + 100
  expect([...values]).toEqual([Number.NaN, 100, 102.5]);

  const none = await cloudOf([{ type: 4, options: 0, name: 'h', set: fill }], stored);
  expect(none.extraBytes[0]).toMatchObject({ scale: [1], shift: [0], noData: null, min: null, max: null });
  // Values without their bit must be zero.
  expect(oddRules(none)).toEqual(['extra-bytes-zero']);
});

describe('descriptions that do not fit', () => {
  test('bytes nobody describes', async () => {
    const cloud = await cloudOf([{ type: 1, name: 'a' }], [new Uint8Array(4)]);
    expect(cloud.formatIssues[0]).toMatchObject({ rule: 'extra-bytes-undocumented', found: 3 });
    const bare = await cloudOf([], [new Uint8Array(4)]);
    expect(bare.extraBytes).toEqual([]);
    expect(oddRules(bare)).toEqual(['extra-bytes-undocumented']);
    expect((await collect(bare)).extraLength).toBe(4);
  });

  test('more described than present: those that fit', async () => {
    const cloud = await cloudOf(
      [
        { type: 1, name: 'a' },
        { type: 10, name: 'b' },
      ],
      [new Uint8Array(4)],
    );
    expect(cloud.extraBytes.map((e) => e.name)).toEqual(['a']);
    expect(oddRules(cloud)).toEqual(['extra-bytes-sum']);
  });

  test('reserved type: nothing behind it can be placed', async () => {
    const cloud = await cloudOf(
      [
        { type: 1, name: 'a' },
        { type: 31, name: 'b' },
        { type: 1, name: 'c' },
      ],
      [new Uint8Array(4)],
    );
    expect(cloud.extraBytes.map((e) => e.name)).toEqual(['a']);
    expect(oddRules(cloud)).toEqual(['extra-bytes-type']);
  });

  test('the same name twice, and no name', async () => {
    const cloud = await cloudOf(
      [
        { type: 1, name: 'a' },
        { type: 1, name: 'a' },
        { type: 1, name: '' },
      ],
      [new Uint8Array(3)],
    );
    expect(oddRules(cloud)).toEqual(['extra-bytes-name-repeated', 'extra-bytes-name']);
  });

  test('a record that is no multiple of 192', async () => {
    const bytes = buildLas({
      minor: 4,
      format: 6,
      recordLength: 31,
      points: new Uint8Array(31),
      vlrs: [{ userId: 'LASF_Spec', recordId: 4, payload: new Uint8Array(100) }],
    });
    const cloud = await openCloud(new MemorySource(bytes));
    expect(oddRules(cloud)).toEqual(['extra-bytes-length', 'extra-bytes-undocumented']);
  });
});

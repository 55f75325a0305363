import { describe, expect, it } from 'vitest';
import { ALL_COLUMNS, createBatch } from '../../src/cloud/columns.js';
import { createMeasuredBatch } from '../../src/engine/scale-to-world.js';
import { type ExtraField, structureFacts } from '../../src/measure/structure-facts.js';

/** Extra bytes of one point a row, in file `file`; of them `outsideNode` lie outside their node. */
function batchOf(rows: readonly (readonly number[])[], { file = 0, outsideNode = 0 } = {}) {
  const length = rows[0]?.length ?? 0;
  const raw = createBatch(new Set(ALL_COLUMNS), Math.max(1, rows.length), length);
  raw.count = rows.length;
  raw.outsideNode = outsideNode;
  raw.extra.set(rows.flat());
  return { ...createMeasuredBatch(raw, Math.max(1, rows.length)), count: rows.length, file };
}

function extremesOf(fields: readonly ExtraField[], rows: readonly (readonly number[])[]) {
  const params = { fields: [{ file: 0, fields }] };
  const state = structureFacts.create(params);
  structureFacts.add(state, batchOf(rows));
  return structureFacts.finish(state, params)[0].extremes;
}

const bytesOf = (fill: (view: DataView) => void, length: number) => {
  const view = new DataView(new ArrayBuffer(length));
  fill(view);
  return [...new Uint8Array(view.buffer)];
};

describe('structure facts', () => {
  // Types of the extra bytes by number: LAS 1.4 R16, table of data types of the Extra Bytes VLR.
  it.each([
    [1, [200], 200],
    [2, [200], -56],
    [3, bytesOf((v) => v.setUint16(0, 60_000, true), 2), 60_000],
    [4, bytesOf((v) => v.setInt16(0, -3, true), 2), -3],
    [5, bytesOf((v) => v.setUint32(0, 4e9, true), 4), 4e9],
    [6, bytesOf((v) => v.setInt32(0, -4, true), 4), -4],
    [7, bytesOf((v) => v.setBigUint64(0, 2n ** 40n + 1n, true), 8), 2 ** 40 + 1],
    [8, bytesOf((v) => v.setBigInt64(0, -5n, true), 8), -5],
    [9, bytesOf((v) => v.setFloat32(0, 0.5, true), 4), 0.5],
    [10, bytesOf((v) => v.setFloat64(0, -1e300, true), 8), -1e300],
  ] as [number, number[], number][])('reads a value of type %i', (type, bytes, value) => {
    expect(extremesOf([{ offset: 1, type, noData: null }], [[99, ...bytes]])).toEqual([[[value, value]]]);
  });

  it('keeps smallest and largest of every member, without the value that stands for none', () => {
    const field = { offset: 0, type: 11, noData: [7, 0] };
    const rows = [
      [7, 0],
      [3, 5],
      [250, 0],
    ];
    expect(extremesOf([field], rows)).toEqual([
      [
        [3, 250],
        [5, 5],
      ],
    ]);
    expect(extremesOf([field], [[7, 0]])).toEqual([[null, null]]);
  });

  it('has no value where an attribute reaches beyond the extra bytes of the file', () => {
    expect(extremesOf([{ offset: 1, type: 3, noData: null }], [[1, 2]])).toEqual([[null]]);
  });

  it('adds up points outside their node, file by file, in any order', () => {
    const params = { fields: [{ file: 1, fields: [{ offset: 0, type: 1, noData: null }] }] };
    const batches = [
      batchOf([[5]], { file: 1, outsideNode: 1 }),
      batchOf([[9]], { file: 0, outsideNode: 2 }),
      batchOf([[2]], { file: 1, outsideNode: 0 }),
    ];
    const parts = batches.map((batch) => {
      const state = structureFacts.create(params);
      structureFacts.add(state, batch);
      return structureFacts.pack(state);
    });
    const merged = structureFacts.create(params);
    for (const part of [parts[2], parts[0], parts[1]]) structureFacts.merge(merged, part);
    expect(structureFacts.finish(merged, params)).toEqual([
      { file: 0, outsideNode: 2, extremes: [] },
      { file: 1, outsideNode: 1, extremes: [[[2, 5]]] },
    ]);
    expect(structureFacts.finish(structureFacts.create(params), params)).toEqual([]);
  });

  it('asks for the extra bytes only when an attribute is wanted', () => {
    expect(structureFacts.columns({ fields: [] })).toEqual([]);
    expect(structureFacts.columns({ fields: [{ file: 0, fields: [] }] })).toEqual(['extra']);
  });
});

import { describe, expect, test } from 'vitest';
import { ALL_COLUMNS, type Column, type PointBatch } from '../../src/cloud/columns.js';
import { createLazDecoder, type LazLayout } from '../../src/cloud/decoder/laz-decoder.js';
import { encodeLazWithChunks } from '../../src/simulate/encoder/laz-encoder.js';
import { lasFromRecords, layoutOf, RECORD_LENGTHS } from './las-points.js';
import { randomRecords } from './random-points.js';

const wild = { change: 0.4, jump: 0.01, channels: [0, 1, 2, 3], returns: 5 };

/** Fields of a batch that a column stands for. */
const FIELDS: Record<Column, (keyof PointBatch)[]> = {
  xyz: ['x', 'y', 'z'],
  intensity: ['intensity'],
  returns: ['returnNumber', 'returnCount'],
  flags: ['flags'],
  classification: ['classification'],
  scannerChannel: ['scannerChannel'],
  scanAngle: ['scanAngle'],
  userData: ['userData'],
  pointSourceId: ['pointSourceId'],
  gpsTime: ['gpsTime'],
  colour: ['red', 'green', 'blue'],
  nir: ['nir'],
  waveform: ['waveform'],
  extra: ['extra'],
};

type Numbers = { slice(from: number, to: number): ArrayLike<number> };

async function decode(laz: Uint8Array, begin: number, end: number, points: number, columns: ReadonlySet<Column>) {
  const decoder = await createLazDecoder();
  decoder.open(layoutOf(laz), 'test.laz');
  const values: Partial<Record<keyof PointBatch, number[]>> = {};
  let has: ReadonlySet<Column> = new Set();
  const sink = (batch: PointBatch): void => {
    has = batch.has;
    for (const field of Object.values(FIELDS).flat()) {
      const width = field === 'waveform' ? 29 : field === 'extra' ? batch.extraLength : 1;
      const some = Array.from((batch[field] as unknown as Numbers).slice(0, batch.count * width));
      values[field] = [...(values[field] ?? []), ...some];
    }
  };
  decoder.chunk(laz.subarray(begin, end), points, columns, sink, 'test.laz');
  return { values, has, layers: decoder.layers() };
}

describe.each([1, 5, 6, 10])('format %i', (format) => {
  const records = randomRecords(format, 3, 800, 9, wild);
  const { bytes, chunks } = encodeLazWithChunks(lasFromRecords(format, records, RECORD_LENGTHS[format] + 3));
  const [{ begin, end, points }] = chunks;

  test.each(ALL_COLUMNS)('%s alone is what it is among all', async (column) => {
    const all = await decode(bytes, begin, end, points, new Set(ALL_COLUMNS));
    const one = await decode(bytes, begin, end, points, new Set([column]));
    expect([...one.has]).toEqual(all.has.has(column) ? [column] : []);
    for (const other of ALL_COLUMNS) {
      for (const field of FIELDS[other]) {
        if (other === column) expect(one.values[field]).toEqual(all.values[field]);
        else expect((one.values[field] as number[]).every((value) => value === 0)).toBe(true);
      }
    }
  });

  test('only what is asked for is touched in layered chunks', async () => {
    const { layers } = await decode(bytes, begin, end, points, new Set<Column>(['xyz', 'classification']));
    const names = layers.map((layer) => layer.layer);
    expect(names).toEqual(format > 5 ? ['returns and xy', 'z', 'classification'] : ['points']);
    for (const layer of layers) expect(layer.read).toBe(layer.bytes);
  });
});

describe('layouts that are refused', () => {
  const core = { format: 6, recordLength: 30, extraLength: 0 };
  const layouts: [string, LazLayout][] = [
    ['unknown format', { ...core, format: 11, items: [{ type: 10, size: 30, version: 3 }] }],
    ['items of another format', { ...core, items: [{ type: 6, size: 20, version: 2 }] }],
    [
      'a record that is longer than its items',
      { ...core, recordLength: 31, items: [{ type: 10, size: 30, version: 3 }] },
    ],
    ['unknown version', { ...core, items: [{ type: 10, size: 30, version: 5 }] }],
    [
      'mixed versions',
      {
        format: 7,
        recordLength: 36,
        extraLength: 0,
        items: [
          { type: 10, size: 30, version: 3 },
          { type: 11, size: 6, version: 4 },
        ],
      },
    ],
  ];
  test.each(layouts)('%s', async (_, layout) => {
    const decoder = await createLazDecoder();
    expect(() => decoder.open(layout, 'test.laz')).toThrow('test.laz: ');
  });
});

import { describe, expect, it } from 'vitest';
import { ALL_COLUMNS, createBatch } from '../../src/cloud/columns.js';
import type { DeliveredFile } from '../../src/delivery/delivery.js';
import { BlockStore } from '../../src/engine/block-store.js';
import { type SpanResult, type SpanTask, unmeasuredResult } from '../../src/engine/job.js';
import { createMeasuredBatch, scaleToWorld } from '../../src/engine/scale-to-world.js';
import { finaliseBlock } from '../../src/engine/span-measurer.js';
import { Fault } from '../../src/fault.js';
import { planeMoments } from '../../src/measure/plane-moments.js';

const VOXEL = { voxel: 0.5 };
const collect = { measurement: 'pass-pairs', params: { voxel: 0.5, minPoints: 3 } };
const measurements = [{ id: 'plane-moments', params: VOXEL, collects: [collect] }];
const assignment = { measurements };
/** Areas are 32 m wide with voxels of 0.5 m. */
const EDGE = 32;

function file(index: number, west: number, east: number): DeliveredFile {
  return { index, horizontalUnit: 1, header: { min: [west, 2, 0], max: [east, 3, 1] } } as unknown as DeliveredFile;
}
const task = (of: number): SpanTask => ({ file: of, span: { first: 0, points: 1, pieces: [] } });

/** What a worker gives for points at these eastings. */
function measured(of: number, eastings: readonly number[]): SpanResult {
  const raw = createBatch(new Set(ALL_COLUMNS), eastings.length, 0);
  raw.count = eastings.length;
  eastings.forEach((x, i) => {
    raw.x[i] = Math.round(x * 1000);
    raw.y[i] = 2500;
    raw.z[i] = 500;
  });
  const batch = createMeasuredBatch(raw, eastings.length);
  const units = { address: '', horizontalUnit: 1, heightUnit: 1 };
  scaleToWorld(batch, raw, { scale: [0.001, 0.001, 0.001], offset: [0, 0, 0] }, of, units, { by: ['point-source-id'] });
  const state = planeMoments.create(VOXEL);
  planeMoments.add(state, batch);
  const areas = planeMoments.blocks!.cut(state).map((piece) => ({ measurement: 0, piece }));
  return { ...unmeasuredResult([task(of)], []), states: [new ArrayBuffer(0)], blocks: areas };
}

function columnsSent(store: BlockStore): number[] {
  const columns: number[] = [];
  for (let t = store.nextTask(); t !== null; t = store.nextTask()) {
    columns.push(t.column);
    store.addResult(finaliseBlock(assignment, t));
  }
  return columns.sort((a, b) => a - b);
}

describe('areas of a state', () => {
  it('are boiled down as soon as every file that reaches them is read, and not before', () => {
    const files = [file(0, 1, 40), file(1, 40, 90)];
    const store = new BlockStore(measurements, [task(0), task(1)], files);
    store.addPieces(measured(0, [5, 39]));
    // The second file reaches back into area 1 (32 to 64 m), not into area 0.
    expect(columnsSent(store)).toEqual([0]);
    store.addPieces(measured(1, [41, 80]));
    expect(columnsSent(store)).toEqual([1, 2]);
    expect(store.hasLateBlock).toBe(false);
    expect(store.parts(0, collect)).toHaveLength(3);
  });

  it('wait for the rim that the next area gives them', () => {
    // File 1 begins where area 1 begins: voxels of the second lattice straddle that border, so area 0 waits for it.
    const store = new BlockStore(measurements, [task(0), task(1)], [file(0, 1, 20), file(1, EDGE, 60)]);
    store.addPieces(measured(0, [5]));
    expect(columnsSent(store)).toEqual([]);
    store.addPieces(measured(1, [32.1]));
    expect(columnsSent(store)).toEqual([0, 1]);
  });

  // The rim around a block is one sub-voxel, 0.25 m, and headers may be a metre off, whatever the unit of the files:
  // a file that begins 1.2 m behind the border may reach into the rim, one that begins 1.3 m behind it does not.
  it.each([1, 0.3048, 1200 / 3937])('wait for a rim of the same width in files of any unit: %d m', (metres) => {
    for (const [border, waits] of [
      [EDGE + 1.2, true],
      [EDGE + 1.3, false],
    ] as const) {
      const inUnit = (of: DeliveredFile) => {
        const scaled = (corner: readonly number[]) => corner.map((v) => v / metres);
        const header = { min: scaled(of.header!.min), max: scaled(of.header!.max) };
        return { ...of, horizontalUnit: metres, header } as unknown as DeliveredFile;
      };
      const eastward = [inUnit(file(0, 1, 20)), inUnit(file(1, border, 60))];
      const store = new BlockStore(measurements, [task(0), task(1)], eastward);
      store.addPieces(measured(0, [5]));
      expect(columnsSent(store), `from the west to ${border} m`).toEqual(waits ? [] : [0]);
      const westward = [inUnit(file(0, 66, 90)), inUnit(file(1, 1, 2 * EDGE - (border - EDGE)))];
      const back = new BlockStore(measurements, [task(0), task(1)], westward);
      back.addPieces(measured(0, [70]));
      expect(columnsSent(back), `from the east to ${border} m`).toEqual(waits ? [] : [2]);
    }
  });

  it('all wait for a file that may have points anywhere', () => {
    const store = new BlockStore(measurements, [task(0), task(1)], [file(0, 1, 20), file(1, -1e7, 1e7)]);
    store.addPieces(measured(0, [5]));
    expect(columnsSent(store)).toEqual([]);
    store.addPieces(measured(1, [7000]));
    expect(columnsSent(store)).toEqual([0, 218]);
  });

  it('a point that its header did not announce is told, should its area be gone; patience never comes too late', () => {
    const files = [file(0, 1, 20), file(1, 200, 220)];
    for (const finaliseAtEnd of [false, true]) {
      const store = new BlockStore(measurements, [task(0), task(1)], files, { finaliseAtEnd });
      store.addPieces(measured(0, [5]));
      expect(columnsSent(store)).toEqual(finaliseAtEnd ? [] : [0]);
      store.addPieces(measured(1, [210, 6]));
      expect(store.hasLateBlock).toBe(!finaliseAtEnd);
      expect(columnsSent(store)).toEqual(finaliseAtEnd ? [0, 6] : [6]);
    }
  });

  it('are counted by larger squares where files and areas are many, and all come in the end', () => {
    // 150 files a kilometre wide, side by side: about 1,000 areas each.
    const files = Array.from({ length: 150 }, (_, i) => {
      const { header, ...rest } = file(i, i * 1000, i * 1000 + 999);
      return { ...rest, header: { ...header!, max: [header!.max[0], 1000, 1] } } as DeliveredFile;
    });
    const store = new BlockStore(
      measurements,
      files.map((_, i) => task(i)),
      files,
    );
    const sent = files.map((_, i) => {
      store.addPieces(measured(i, [i * 1000 + 500]));
      return columnsSent(store).length;
    });
    // Not the very moment its file is read, but long before the end.
    expect(sent.slice(0, 75).reduce((sum, n) => sum + n, 0)).toBeGreaterThan(70);
    expect(sent.reduce((sum, n) => sum + n, 0)).toBe(150);
    expect(store.hasLateBlock).toBe(false);
  });

  it('begin with any number of files', () => {
    const files = Array.from({ length: 101_000 }, (_, i) => file(i, i * 100, i * 100 + 10));
    const tasks = files.map((_, i) => task(i));
    expect(new BlockStore(measurements, tasks, files).busy).toBe(false);
  });

  it('cost only what rests on them when one cannot be worked out', () => {
    const store = new BlockStore(measurements, [task(0)], [file(0, 1, 20)]);
    store.addPieces(measured(0, [5]));
    // Measured with other cubes than the assignment says: no worker can put that together.
    store.finaliseHere({ measurements: [{ ...measurements[0], params: { voxel: 1 } }] });
    expect(store.busy).toBe(false);
    expect(() => store.parts(0, collect)).toThrow(Fault);
  });

  it('put their pieces together when they have become many, and lose nothing', () => {
    const eastings = Array.from({ length: 1280 }, (_, i) => i * 0.025);
    const spans = 12;
    const run = (leastMerge: number) => {
      const tasks = Array.from({ length: spans }, () => task(0));
      const store = new BlockStore(measurements, tasks, [file(0, 0, 31)], { leastMerge });
      let merges = 0;
      for (let i = 0; i < spans; i++) {
        store.addPieces(measured(0, eastings.slice(i * 100, i * 100 + 200)));
        for (let t = store.nextTask(); t !== null; t = store.nextTask()) {
          if (t.merge) merges++;
          store.addResult(finaliseBlock(assignment, t));
        }
      }
      return { merges, parts: store.parts(0, collect) };
    };
    const plain = run(1 << 30);
    const merged = run(1);
    expect(plain.merges).toBe(0);
    expect(merged.merges).toBeGreaterThan(1);
    expect(merged.parts).toEqual(plain.parts);
  });
});

describe('work that grows with the number of files', () => {
  it('the end of a file is a matter of its own blocks, however many others are open', () => {
    const looks = (count: number) => {
      const files = Array.from({ length: count }, (_, i) => file(i, i * 100, i * 100 + 90));
      const store = new BlockStore(
        measurements,
        files.map((_, i) => task(i)),
        files,
      );
      // From both ends: the blocks between two neighbours stay open for a long time.
      for (let i = 0; i < count; i++) {
        const at = i % 2 === 0 ? i / 2 : count - (i + 1) / 2;
        store.addPieces(measured(at, [at * 100 + 5, at * 100 + 45, at * 100 + 85]));
      }
      columnsSent(store);
      return store.looks;
    };
    const [once, twice] = [looks(100), looks(200)];
    expect(once).toBeGreaterThan(200);
    expect(twice).toBeLessThan(2.2 * once);
  });
});

import { Copc, type Hierarchy } from 'copc';
import { describe, expect, test } from 'vitest';
import { encodeCopc } from '../../test-clouds/encoder/copc-encoder.js';
import { lasFromRecords, RECORD_LENGTHS } from './las-points.js';
import { randomRecords } from './random-points.js';

// The copc package 0.0.8, an independent reader, must find every point, in the cube of its node.
const wild = { change: 0.6, jump: 0.02, channels: [0], returns: 5 };

describe.each([
  [6, 21],
  [7, 21],
  [8, 1],
])('format %i, %i levels a page', (format, pageLevels) => {
  test('every point is found in the cube of its node', async () => {
    const length = RECORD_LENGTHS[format];
    const records = randomRecords(format, 0, 4000, format, wild);
    const bytes = encodeCopc(lasFromRecords(format, records, length), { nodePoints: 150, pageLevels });
    const getter = async (begin: number, end: number) => bytes.slice(begin, end);
    const copc = await Copc.create(getter);
    const pages: Hierarchy.Page[] = [copc.info.rootHierarchyPage];
    const found: string[] = [];
    let nodes = 0;
    let pagesRead = 0;
    for (let page = pages.pop(); page; page = pages.pop()) {
      pagesRead++;
      const subtree = await Copc.loadHierarchyPage(getter, page);
      for (const child of Object.values(subtree.pages)) if (child) pages.push(child);
      for (const [key, node] of Object.entries(subtree.nodes)) {
        if (!node || node.pointCount === 0) continue;
        nodes++;
        const data = await Copc.loadPointDataBuffer(getter, copc.header, node);
        const view = new DataView(data.buffer, data.byteOffset, data.byteLength);
        const [level, ...place] = key.split('-').map(Number);
        const [x0, y0, z0, x1] = copc.info.cube;
        const size = (x1 - x0) / 2 ** level;
        for (let i = 0; i < node.pointCount; i++) {
          found.push(Buffer.from(data.subarray(i * length, (i + 1) * length)).toString('hex'));
          for (let axis = 0; axis < 3; axis++) {
            const low = [x0, y0, z0][axis] + place[axis] * size;
            const value = view.getInt32(i * length + 4 * axis, true) * 0.001;
            expect(value).toBeGreaterThanOrEqual(low - 1e-6);
            expect(value).toBeLessThanOrEqual(low + size + 1e-6);
          }
        }
      }
    }
    expect(nodes).toBeGreaterThan(20);
    expect(pagesRead > 1).toBe(pageLevels === 1);
    const stored: string[] = [];
    for (let at = 0; at < records.length; at += length) {
      stored.push(Buffer.from(records.subarray(at, at + length)).toString('hex'));
    }
    expect(found.sort()).toEqual(stored.sort());
  });
});

import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { writeBenchDelivery } from '../../test-clouds/scene/bench-delivery.js';
import { decodeLas, decodePoint } from './las-decoder.js';

const folder = mkdtempSync(join(tmpdir(), 'bench-delivery-'));
afterAll(() => rmSync(folder, { recursive: true }));

it.each([6, 7, 8] as const)(
  'a bench delivery of format %i has exactly the points asked for, tile by tile',
  (format) => {
    const options = { points: 60_000, density: 50, tileMetres: 10, format };
    const bench = writeBenchDelivery(join(folder, `format-${format}`), options);
    expect(bench.files.length).toBeGreaterThan(1);
    let total = 0;
    bench.files.forEach(({ path, points }, index) => {
      const bytes = readFileSync(path);
      const las = decodeLas(bytes);
      expect([las.format, las.count]).toEqual([format, points]);
      expect(bytes.length).toBe(las.offsetToPoints + points * las.recordLength);
      total += points;
      let astray = 0;
      const west = 561_000 + 10 * index;
      for (let i = 0; i < points; i++) {
        const { x } = decodePoint(las, i);
        if (x < west || x >= west + 10 || x < las.min[0] || x > las.max[0]) astray++;
      }
      expect(astray).toBe(0);
    });
    expect(total).toBe(60_000);
  },
);

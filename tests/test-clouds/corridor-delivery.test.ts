import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { writeCorridor } from '../../test-clouds/scene/corridor-delivery.js';
import { decodeLas, decodePoint } from './las-decoder.js';

it('a corridor has the points, the passes and the ground that were asked for, tile by tile', () => {
  const folder = mkdtempSync(join(tmpdir(), 'corridor-'));
  try {
    const { files, points, ground } = writeCorridor(folder, { metres: 60, tileMetres: 20, passes: 3, density: 2 });
    expect(files).toHaveLength(3);
    // 12 m of road and 3 m of wall, 2 points a square metre, 3 passes.
    expect(points).toBe(60 * 15 * 2 * 3);
    expect(ground).toBe(60 * 12);
    files.forEach((path, tile) => {
      const las = decodeLas(readFileSync(path));
      const passes = new Map<number, number>();
      for (let i = 0; i < las.count; i++) {
        const { x, pointSourceId } = decodePoint(las, i);
        expect(Math.floor((x - 561_000) / 20)).toBe(tile);
        passes.set(pointSourceId, (passes.get(pointSourceId) ?? 0) + 1);
      }
      expect([...passes]).toEqual([1, 2, 3].map((pass) => [pass, 600]));
    });
  } finally {
    rmSync(folder, { recursive: true });
  }
});

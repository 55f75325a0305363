import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { reportJson } from '../../src/report/json.js';
import type { Report } from '../../src/report/model.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { type DemoDelivery, writeDelivery } from '../../src/simulate/demo/demo-delivery.js';

const folder = mkdtempSync(join(tmpdir(), 'cloudassay-areas-'));
let demo: DemoDelivery;
let spec = '';
beforeAll(() => {
  demo = writeDelivery(folder, {}, { drive: false });
  spec = join(folder, 'passes.json');
  const requirements = [
    { id: 'PASSES', check: 'pass-agreement', maxRmsDz: 0.02 },
    { id: 'SURFACE', check: 'surface-precision', maxRms: 0.02 },
  ];
  writeFileSync(spec, JSON.stringify({ spec: '1', title: 'Passes', requirements }));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const run = (more: { workers?: number; spanPoints?: number; cache?: string } = {}): Promise<Report> =>
  checkDelivery({ delivery: [demo.tiles], spec, workers: 1, ...more });

/** What rests on areas; in which file a place lies is told by the headers. */
const figures = ({ requirements, passPairs }: Report) =>
  JSON.parse(JSON.stringify({ requirements, passPairs }, (key, value) => (key === 'file' ? undefined : value)));

/** The header says that the tile lies a kilometre to the east (LAS specification 1.4, public header block: max X at 179, min X at 187). */
function claimElsewhere(path: string): () => void {
  const sound = readFileSync(path);
  const lie = Buffer.from(sound);
  for (const at of [179, 187]) lie.writeDoubleLE(lie.readDoubleLE(at) + 1000, at);
  writeFileSync(path, lie);
  return () => writeFileSync(path, sound);
}

describe('areas that are boiled down while the delivery is read', () => {
  it('give the same report for any number of workers, any spans, and through the cache', async () => {
    const plain = reportJson(await run());
    expect(reportJson(await run({ workers: 3, spanPoints: 7000 }))).toBe(plain);
    expect(reportJson(await run({ workers: 2, spanPoints: 30_000 }))).toBe(plain);
    const cache = join(folder, 'cache');
    expect(reportJson(await run({ cache, workers: 2 }))).toBe(plain);
    expect(reportJson(await run({ cache, workers: 2 }))).toBe(plain);
  });

  it('lose no point, though the header of a tile lies about where it is', async () => {
    const honest = figures(await run());
    for (const { path } of demo.files.filter(({ path }) => path.endsWith('.las')).slice(0, 2)) {
      const restore = claimElsewhere(path);
      try {
        expect(figures(await run())).toEqual(honest);
        expect(figures(await run({ workers: 3, spanPoints: 11_000 }))).toEqual(honest);
      } finally {
        restore();
      }
    }
  });
});

import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { copyFileSync, mkdtempSync, readdirSync, readFileSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { reportJson } from '../../src/report/json.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { type DemoDelivery, writeDemoDelivery } from '../../src/simulate/demo/demo-delivery.js';
import { beginDraft, endDraft } from '../../src/temporary-files.js';

let folder = '';
let demo: DemoDelivery;
let full = '';
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-cache-'));
  demo = writeDemoDelivery(folder, { drive: false });
  full = await run(null);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function run(cache: string | null, workers = 1): Promise<string> {
  const { tiles, spec, points, zones } = demo;
  return reportJson(
    await checkDelivery({ delivery: [tiles], spec, points, zones, workers, spanPoints: 20_000, cache }),
  );
}

/** The passes of the demo do not agree, so it is read once more for likely causes: an entry a file and reading. */
const READINGS = 2;

/** Entries by content, so that a rewritten one shows. */
function entries(cache: string): Map<string, string> {
  return new Map(readdirSync(cache).map((name) => [name, readFileSync(join(cache, name)).toString('base64')]));
}

/** An entry with another key and the right digest, as nobody makes it by mistake: text, digest, key, states. */
function withKey(entry: Buffer, key: string): Buffer {
  const begin = entry.indexOf('\n') + 1;
  const body = Buffer.concat([Buffer.from(key), entry.subarray(begin + 32 + key.length)]);
  return Buffer.concat([entry.subarray(0, begin), createHash('sha256').update(body).digest(), body]);
}

describe('a cache of measured files', () => {
  it('gives the same report when it is empty, full, and for any number of workers', async () => {
    const cache = join(folder, 'cache-same');
    expect(await run(cache)).toBe(full);
    expect(readdirSync(cache)).toHaveLength(READINGS * demo.files.length);
    const kept = entries(cache);
    expect(await run(cache, 3)).toBe(full);
    expect(entries(cache)).toEqual(kept);
  });

  it('is really used: a hit does not read the points again', async () => {
    const cache = join(folder, 'cache-used');
    // Density alone needs one reading: one entry a file.
    const spec = join(folder, 'density-spec.json');
    const stored = JSON.parse(readFileSync(demo.spec, 'utf8'));
    stored.requirements = stored.requirements.filter(({ check }: { check: string }) => check === 'density');
    writeFileSync(spec, JSON.stringify(stored));
    const run = async (cache: string | null) => {
      const { tiles, zones } = demo;
      return reportJson(await checkDelivery({ delivery: [tiles], spec, zones, workers: 1, spanPoints: 20_000, cache }));
    };
    const full = await run(cache);
    const before = readdirSync(cache);
    expect(before).toHaveLength(demo.files.length);
    const path = demo.files[0].path;
    const original = readFileSync(path);
    const raised = Buffer.from(original);
    // Z of the first point, a hundred metres up: the points begin where the header says (LAS 1.4, offset 96), Z is at 8.
    const z = raised.readUInt32LE(96) + 8;
    raised.writeInt32LE(raised.readInt32LE(z) + 100_000, z);
    writeFileSync(path, raised);
    try {
      expect(await run(cache)).not.toBe(full);
      const [added] = readdirSync(cache).filter((name) => !before.includes(name));
      // One of the old entries is that of the tile as it was. In the new one's place it hides that the tile has changed.
      const [reports, copied] = [[] as string[], [] as string[]];
      for (const name of before) {
        // An entry holds its own key: a copy under another name is ignored.
        copyFileSync(join(cache, name), join(cache, added));
        copied.push(await run(cache));
        writeFileSync(join(cache, added), withKey(readFileSync(join(cache, name)), added.split('.')[0]));
        reports.push(await run(cache));
      }
      expect(new Set([...copied, await run(null)]).size).toBe(1);
      expect(reports.filter((report) => report === full)).toHaveLength(1);
    } finally {
      writeFileSync(path, original);
    }
  });

  it('takes away what a killed run left in its folder, and nothing else', async () => {
    const cache = join(folder, 'cache-left');
    await run(cache);
    const kept = readdirSync(cache);
    const { pid } = spawnSync(process.execPath, ['-e', '']);
    const left = beginDraft(join(cache, kept[0]));
    endDraft(left);
    writeFileSync(left.replace(`-${process.pid}-`, `-${pid}-`), 'half an entry');
    // As earlier versions named them, a day old and new.
    for (const name of ['a.measured.tmp-00000001', 'b.measured.tmp-00000002']) writeFileSync(join(cache, name), 'x');
    utimesSync(join(cache, 'a.measured.tmp-00000001'), 0, 0);
    await run(cache);
    expect(readdirSync(cache).sort()).toEqual([...kept, 'b.measured.tmp-00000002'].sort());
  });

  it('measures again what has changed, and only that', async () => {
    const cache = join(folder, 'cache-changed');
    await run(cache);
    const before = entries(cache);
    const path = demo.files[0].path;
    const original = readFileSync(path);
    const changed = Buffer.from(original);
    changed.write('another generating software', 58, 'latin1');
    writeFileSync(path, changed);
    try {
      const report = await run(cache);
      const added = readdirSync(cache).filter((name) => !before.has(name));
      expect(added).toHaveLength(READINGS);
      expect(report).toBe(await run(null));
    } finally {
      writeFileSync(path, original);
    }
  });

  it('notices damaged entries and measures again', async () => {
    const cache = join(folder, 'cache-damaged');
    await run(cache);
    const [first, second, third] = readdirSync(cache).map((name) => join(cache, name));
    const flipped = readFileSync(first);
    flipped[flipped.length >> 1] ^= 4;
    writeFileSync(first, flipped);
    writeFileSync(second, readFileSync(second).subarray(0, 100));
    writeFileSync(third, '');
    expect(await run(cache)).toBe(full);
    expect(await run(cache)).toBe(full);
  });

  it('keeps nothing of another way of measuring', async () => {
    const cache = join(folder, 'cache-options');
    await run(cache);
    const spec = JSON.parse(readFileSync(demo.spec, 'utf8'));
    for (const requirement of spec.requirements) if (requirement.check === 'density') requirement.cell = 2;
    const other = join(folder, 'other-spec.json');
    writeFileSync(other, JSON.stringify(spec));
    const { tiles, points, zones } = demo;
    const options = { delivery: [tiles], spec: other, points, zones, workers: 1, spanPoints: 20_000 };
    expect(reportJson(await checkDelivery({ ...options, cache }))).toBe(reportJson(await checkDelivery(options)));
  });
});

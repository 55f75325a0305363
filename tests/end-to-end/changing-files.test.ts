import { copyFileSync, mkdirSync, mkdtempSync, renameSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Report } from '../../src/report/model.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { lasOf, soundStreet } from '../checks/check-files.js';

/*
 * Files that are written to while they are checked. The progress of the run is the clock: it is reported once before the
 * first point is read, and after every span.
 */

const street = soundStreet();
const old = lasOf(street);
/** Of the same size, every point half a metre higher. */
const other = lasOf({ ...street, z: street.z.map((z) => z + 0.5) });

/** Time of modification of the first tile: whole seconds, which every file system keeps. */
const WRITTEN = new Date('2026-01-02T03:04:05Z');

let folder = '';
let spec = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-changing-'));
  spec = join(folder, 'spec.json');
  const requirements = [
    { id: 'HDR', check: 'header-agreement' },
    { id: 'DEN', check: 'density', min: 1e6 },
  ];
  writeFileSync(spec, JSON.stringify({ spec: '1', title: 'test', requirements }));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

type Moment = (progress: { pointsDone: number; pointsTotal: number }) => boolean;
const beforeTheFirstPoint: Moment = ({ pointsDone }) => pointsDone === 0;
const inTheMiddle: Moment = ({ pointsDone, pointsTotal }) => pointsDone > 0 && pointsDone < pointsTotal;
const afterTheLastPoint: Moment = ({ pointsDone, pointsTotal }) => pointsDone === pointsTotal;

/** Checks two tiles and changes the first at a moment. */
async function runWhile(when: Moment, change: (path: string) => void, cache: string | null = null): Promise<Report> {
  const tiles = mkdtempSync(join(folder, 'tiles-'));
  const path = join(tiles, 'a.las');
  writeFileSync(path, old);
  utimesSync(path, WRITTEN, WRITTEN);
  writeFileSync(join(tiles, 'b.las'), old);
  let left = true;
  const report = await checkDelivery({
    delivery: [tiles],
    spec,
    workers: 1,
    spanPoints: 10_000,
    cache,
    onProgress: (progress) => {
      if (!left || !when(progress)) return;
      left = false;
      change(path);
    },
  });
  expect(left).toBe(false);
  return report;
}

const replace = (path: string) => {
  writeFileSync(`${path}.new`, other);
  renameSync(`${path}.new`, path);
};
const overwrite = (path: string) => writeFileSync(path, other);
const overwriteAndPutTimeBack = (path: string) => {
  writeFileSync(path, other);
  utimesSync(path, WRITTEN, WRITTEN);
};
const extend = (path: string) => writeFileSync(path, Buffer.concat([old, old]));

describe('a tile that changes while it is read', () => {
  it.each([
    ['replaced before its first point', beforeTheFirstPoint, replace],
    ['overwritten before its first point', beforeTheFirstPoint, overwrite],
    ['extended before its first point', beforeTheFirstPoint, extend],
    ['overwritten in the middle', inTheMiddle, overwrite],
    ['overwritten in the middle, its time put back', inTheMiddle, overwriteAndPutTimeBack],
    ['overwritten at the end, its time put back', afterTheLastPoint, overwriteAndPutTimeBack],
    ['replaced in the middle', inTheMiddle, replace],
    ['removed in the middle', inTheMiddle, (path: string) => rmSync(path)],
    ['overwritten after its last point', afterTheLastPoint, overwrite],
  ])('%s is a finding against that tile, and nothing passes or fails on it', async (_, when, change) => {
    const report = await runWhile(when, change);
    expect(report.verdict).toBe('undetermined');
    expect(report.files.map(({ fault }) => fault !== null)).toEqual([true, false]);
    expect(report.findings).toContainEqual(
      expect.objectContaining({
        file: 'a.las',
        text: expect.stringMatching(
          /^a\.las: the file changed while it was read.*Copy it again, or check again when writing has ended$/,
        ),
      }),
    );
    expect(report.requirements.map(({ verdict }) => verdict)).toEqual(['undetermined', 'undetermined']);
  });

  it('that does not change is no finding', async () => {
    const report = await runWhile(inTheMiddle, () => {});
    expect(report.verdict).toBe('rejected');
    expect(report.files.map(({ fault }) => fault)).toEqual([null, null]);
  });

  it.each([
    ['its time changes', overwrite],
    ['its time is put back', overwriteAndPutTimeBack],
  ])('leaves no entry in the cache: %s', async (_, change) => {
    const cache = mkdtempSync(join(folder, 'cache-'));
    await runWhile(inTheMiddle, change, cache);
    const tiles = join(mkdtempSync(join(folder, 'again-')), 'tiles');
    mkdirSync(tiles);
    for (const name of ['a.las', 'b.las']) copyFileSync(writeOld(name), join(tiles, name));
    const again = (kept: string | null) =>
      checkDelivery({ delivery: [tiles], spec, workers: 1, spanPoints: 10_000, cache: kept });
    expect(await again(cache)).toEqual(await again(null));
  });
});

function writeOld(name: string): string {
  const path = join(folder, name);
  writeFileSync(path, old);
  return path;
}

describe('a tile on a server', () => {
  it('whose ETag changes between two openings is a finding', async () => {
    let answers = 0;
    const server = createServer((request, response) => {
      const [begin, end] = /(\d+)-(\d+)/.exec(request.headers.range!)!.slice(1).map(Number);
      const last = Math.min(end, old.length - 1);
      // The header is read in the first opening, the points in a second one.
      const bytes = ++answers <= 1 ? old : other;
      response.writeHead(206, {
        'content-range': `bytes ${begin}-${last}/${old.length}`,
        etag: bytes === old ? '"one"' : '"two"',
      });
      response.end(bytes.subarray(begin, last + 1));
    });
    await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
    const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}/a.las`;
    try {
      const report = await checkDelivery({ delivery: [address], spec, workers: 1 });
      expect(report.verdict).toBe('undetermined');
      expect(report.files[0].fault).toMatch(/a\.las: the file changed while it was read/);
    } finally {
      server.closeAllConnections();
      server.close();
    }
  });
});

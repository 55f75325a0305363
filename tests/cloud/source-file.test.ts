import { closeSync, ftruncateSync, mkdtempSync, openSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import fc from 'fast-check';
import { afterAll, describe, expect, test } from 'vitest';
import { readAhead } from '../../src/cloud/read-ahead.js';
import { openSource } from '../../src/cloud/source.js';
import { faultCode } from './collect.js';
import { MemorySource } from './memory-source.js';

const folder = mkdtempSync(join(tmpdir(), 'source-file-'));
afterAll(() => rmSync(folder, { recursive: true }));

const content = Uint8Array.from({ length: 5000 }, (_, i) => (i * 7) % 251);
function write(name: string, bytes = content): string {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
}

describe('a local file', () => {
  test('size, name, ranges', async () => {
    const source = await openSource(write('a.las'));
    expect([source.size, source.name]).toEqual([5000, 'a.las']);
    await fc.assert(
      fc.asyncProperty(fc.nat(5000), fc.nat(5000), async (a, b) => {
        const [begin, end] = a < b ? [a, b] : [b, a];
        expect(Buffer.from(content.subarray(begin, end)).equals(await source.read(begin, end))).toBe(true);
      }),
      { seed: 3, numRuns: 100 },
    );
    await source.close();
  });

  test('reads into a buffer that is large enough, else into one of its own', async () => {
    const source = await openSource(write('b.las'));
    const into = new Uint8Array(100);
    const small = await source.read(10, 60, into);
    expect([small.buffer === into.buffer, small.length, small[0]]).toEqual([true, 50, content[10]]);
    const large = await source.read(10, 200, into);
    expect([large.buffer === into.buffer, large.length]).toEqual([false, 190]);
    await source.close();
  });

  test('a file: URL', async () => {
    const source = await openSource(pathToFileURL(write('with space.las')).href);
    expect(source.name).toBe('with space.las');
    await source.close();
  });

  test('beyond the end: file-truncated; negative or turned round as well', async () => {
    const source = await openSource(write('c.las'));
    for (const [a, b] of [
      [0, 5001],
      [6000, 6001],
      [-1, 5],
      [9, 8],
      [0, Number.NaN],
      [0, 2 ** 60],
    ]) {
      expect(await faultCode(source.read(a, b))).toBe('file-truncated');
    }
    await source.close();
  });

  test('a file that loses bytes while open: file-shrunk', async () => {
    const path = write('d.las');
    const source = await openSource(path);
    const fd = openSync(path, 'r+');
    ftruncateSync(fd, 1000);
    closeSync(fd);
    expect(await faultCode(source.read(500, 1500))).toBe('file-shrunk');
    expect((await source.read(0, 1000)).length).toBe(1000);
    await source.close();
  });

  test('missing, folder, unknown scheme', async () => {
    expect(await faultCode(openSource(join(folder, 'nothing.las')))).toBe('file-missing');
    expect(await faultCode(openSource(folder))).toBe('file-unreadable');
    expect(await faultCode(openSource('s3://bucket/key.laz'))).toBe('address-unsupported');
    expect(await faultCode(openSource('ftp://host/key.laz'))).toBe('address-unsupported');
  });

  test('identity changes with size and with the time of modification', async () => {
    const identity = async (path: string) => {
      const source = await openSource(path);
      await source.close();
      return source.identity;
    };
    const path = write('e.las');
    utimesSync(path, 1000, 1000);
    const first = await identity(path);
    expect(await identity(path)).toBe(first);
    utimesSync(path, 1000, 1001);
    expect(await identity(path)).not.toBe(first);
    write('e.las', content.subarray(1));
    utimesSync(path, 1000, 1000);
    expect(await identity(path)).not.toBe(first);
  });
});

describe('reading ahead', () => {
  test('every range once, in order, with its own bytes, and one read under way at most', async () => {
    let now = 0;
    let most = 0;
    class Slow extends MemorySource {
      override async read(begin: number, end: number, into?: Uint8Array): Promise<Uint8Array> {
        most = Math.max(most, ++now);
        await new Promise((done) => setTimeout(done, 1));
        now--;
        return super.read(begin, end, into);
      }
    }
    const source = new Slow(content);
    const ranges = Array.from({ length: 20 }, (_, i) => ({ begin: i * 250, end: i * 250 + 200 + i }));
    const seen: number[] = [];
    await readAhead(source, ranges, (bytes, i) => {
      seen.push(i);
      if (!Buffer.from(bytes).equals(Buffer.from(content.subarray(ranges[i].begin, ranges[i].end))))
        throw new Error(`range ${i}`);
    });
    expect(seen).toEqual(ranges.map((_, i) => i));
    expect(most).toBe(1);
  });

  test('an error of the consumer or of the source comes out, and nothing is left behind', async () => {
    const source = new MemorySource(content);
    const run = readAhead(
      source,
      [
        { begin: 0, end: 10 },
        { begin: 10, end: 20 },
      ],
      () => {
        throw new RangeError('mine');
      },
    );
    await expect(run).rejects.toThrow('mine');
    expect(
      await faultCode(
        readAhead(
          source,
          [
            { begin: 0, end: 10 },
            { begin: 4000, end: 9000 },
          ],
          () => {},
        ),
      ),
    ).toBe('file-truncated');
    await readAhead(source, [], () => {
      throw new Error('no range');
    });
  });
});

import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { INPUT_BYTES_MAX, readInputFile } from '../../src/spec/input-file.js';
import { faultCode } from '../cloud/collect.js';

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-input-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('a file that is read as a whole', () => {
  it('comes back byte by byte, also when it is larger than one piece', async () => {
    const path = join(folder, 'large.csv');
    const bytes = Uint8Array.from({ length: 2_500_000 }, (_, i) => (i * 31) % 251);
    writeFileSync(path, bytes);
    expect(Buffer.compare(await readInputFile(path, 'zones file'), bytes)).toBe(0);
  });

  it('is refused when it is missing or a folder', async () => {
    expect(await faultCode(readInputFile(join(folder, 'none.csv'), 'zones file'))).toBe('file-missing');
    expect(await faultCode(readInputFile(folder, 'zones file'))).toBe('file-unreadable');
  });

  it.skipIf(process.platform === 'win32')('is refused at once when it is a pipe that nobody writes to', async () => {
    const path = join(folder, 'pipe');
    execFileSync('mkfifo', [path]);
    await expect(readInputFile(path, 'zones file')).rejects.toThrow(
      /a pipe or a device, not a file\. Write it to a file/,
    );
  });

  it.skipIf(!existsSync('/dev/zero'))('is refused when it is a device without an end', async () => {
    await expect(readInputFile('/dev/zero', 'zones file')).rejects.toThrow(/a pipe or a device, not a file/);
  });

  it('is refused when it is larger than stated, and no more than that is read', async () => {
    const path = join(folder, 'sparse.csv');
    writeFileSync(path, '');
    truncateSync(path, INPUT_BYTES_MAX + (1 << 30));
    await expect(readInputFile(path, 'zones file')).rejects.toThrow(/the zones file is larger than 256 MiB/);
  });
});

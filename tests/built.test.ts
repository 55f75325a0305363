import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import {
  builtViewer,
  builtWasm,
  MissingPart,
  packageAbove,
  specsFolder,
  toolVersion,
  workerFile,
} from '../src/built.js';

const scratch = mkdtempSync(join(tmpdir(), 'cloudassay-built-'));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

/** Address of a file in a folder of the scratch folder. */
const inScratch = (path: string) => pathToFileURL(join(scratch, path)).href;

describe('parts of the package', () => {
  it('are found from the sources', () => {
    const { version } = JSON.parse(readFileSync(join(import.meta.dirname, '..', 'package.json'), 'utf8'));
    expect(toolVersion()).toBe(version);
    expect(readFileSync(workerFile(), 'utf8')).toContain('export');
    expect(specsFolder()).toMatch(/specs[\\/]$/);
    expect(builtViewer()).toContain('document');
    // WebAssembly Core Specification, binary format of modules: magic number and version.
    for (const name of ['laz', 'loops', 'voxels'])
      expect([...builtWasm(name).subarray(0, 8)]).toEqual([0, 0x61, 0x73, 0x6d, 1, 0, 0, 0]);
  });

  it('are found from any depth below package.json, past the package.json of somebody else', () => {
    mkdirSync(join(scratch, 'whole', 'dist', 'inner'), { recursive: true });
    writeFileSync(join(scratch, 'whole', 'package.json'), '{"name":"cloudassay","version":"9.8.7"}');
    writeFileSync(join(scratch, 'whole', 'dist', 'package.json'), '{"type":"module"}');
    const expected = { root: new URL(inScratch('whole/')), version: '9.8.7' };
    expect(packageAbove(inScratch('whole/dist/inner/cli.js'))).toEqual(expected);
    expect(packageAbove(inScratch('whole/cli.js'))).toEqual(expected);
  });

  it('say in one sentence what is missing', () => {
    // At the root of the file system, where nobody keeps a copy of the package.
    expect(() => packageAbove('file:///no-such-folder/cli.js')).toThrow(MissingPart);
    expect(() => packageAbove('file:///no-such-folder/cli.js')).toThrow(
      /^package\.json is missing in this installation/,
    );
    expect(() => builtWasm('no-such-module')).toThrow(
      'dist/no-such-module.wasm is missing in this installation of cloudassay; install it again (in its repository: npm ci)',
    );
  });
});

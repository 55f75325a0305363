import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type CheckOptions, checkDelivery } from '../../src/run/check-delivery.js';

const CLOUD = 'test-clouds/formats/las/v14-pf06.las';
let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-side-files-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function specOf(requirement: object): string {
  const path = join(folder, 'spec.json');
  writeFileSync(path, JSON.stringify({ spec: '1', title: 'test', requirements: [{ id: 'R', ...requirement }] }));
  return path;
}

const run = (requirement: object, more: Partial<CheckOptions>) =>
  checkDelivery({ delivery: [CLOUD], spec: specOf(requirement), workers: 1, ...more });

describe('a side file', () => {
  it.each<[string, object, Partial<CheckOptions>]>([
    ['tile index', { check: 'tiling', index: true }, { tiles: 'none.geojson' }],
    ['manifest', { check: 'transfer-integrity' }, { manifest: 'none.sha256' }],
    ['zones file', { check: 'density', min: 1, zone: 'a' }, { zones: 'none.geojson' }],
    ['survey points file', { check: 'vertical-accuracy', maxRmse: 1 }, { points: 'none.csv' }],
  ])('that is missing is a fault of the user in one sentence: %s', async (what, requirement, more) => {
    await expect(run(requirement, more)).rejects.toThrow(new RegExp(`^none\\.\\w+: there is no such ${what}$`));
  });

  it('cannot share standard input with another one', async () => {
    const shared = run({ check: 'tiling', index: true, zone: 'a' }, { tiles: '-', zones: '-' });
    await expect(shared).rejects.toThrow(/^standard input: - is given for 2 files/);
  });

  it('is read from standard input, and its digest is in the report', async () => {
    const spec = specOf({ check: 'survey-point-set', minPoints: 1 });
    const program = join(import.meta.dirname, '..', '..', 'bin', 'cloudassay.js');
    const out = await new Promise<string>((done) => {
      const args = [program, 'check', CLOUD, '--spec', spec, '--points', '-', '--workers', '1', '--json', '--quiet'];
      const child = execFile(process.execPath, args, (_, text) => done(text));
      child.stdin!.end('id,x,y,z\nP1,1,2,3\n');
    });
    const { inputs, tool } = JSON.parse(out);
    // SHA-256 of these 18 bytes by sha256sum of GNU coreutils.
    const sha256 = '3e54edd2dd0d2ee8a1f3173c65924def2efac1730e78b651d78fe8ea832e6e86';
    expect(inputs).toEqual([{ role: 'survey points', file: 'standard input', sha256 }]);
    expect(tool.command).toContain('--points -');
  });
});

import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';

interface Row {
  claim: string;
  values: number;
  revealed: number;
  bias: number;
  judged: number;
  right: number;
}

const folder = mkdtempSync(join(tmpdir(), 'cloudassay-proof-test-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Runs cases of the proof with one seed and reads its rows; the sizes compared are those the proof's own simulator planted. */
function rowsOf(cases: string): Row[] {
  const file = join(folder, 'rows.json');
  const run = spawnSync(process.execPath, ['tests/proof/proof.js', '--cases', cases, '--seeds', '1', '--json', file], {
    encoding: 'utf8',
  });
  expect(run.stderr).toBe('');
  expect(run.status).toBe(0);
  return JSON.parse(readFileSync(file, 'utf8')).rows;
}

describe('the proof', () => {
  it('measures a planted shift with walls to a millimetre and gives the verdict', () => {
    const rows = rowsOf('shift-dense-walls');
    const sized = rows.filter((row) => row.values > 0);
    // Along and across the road, perpendicular to it, and the axes.
    expect(sized.map((row) => row.claim.slice(0, 7)).sort()).toEqual([
      'shift a',
      'shift a',
      'shift p',
      'shift x',
      'shift y',
      'shift z',
    ]);
    for (const row of sized) {
      expect(row.revealed, row.claim).toBe(row.values);
      expect(Math.abs(row.bias), row.claim).toBeLessThan(1);
    }
    for (const row of rows) expect(row.right, row.claim).toBe(row.judged);
  });

  it('judges a gap of 4 square metres and a wrong header as it should', () => {
    const rows = rowsOf('void-4,header-box');
    expect(rows.length).toBeGreaterThan(3);
    for (const row of rows) expect(row.right, row.claim).toBe(row.judged);
  });
});

import { mkdtempSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { rulesById } from '../../src/checks/las-rules/structure-rules.js';
import { testFormatRules } from '../../src/run/format-rules.js';
import { type RuleBreaker, ruleBreakers } from '../../test-clouds/mutator/breaks.js';
import { STRICT_WKT } from '../../test-clouds/mutator/crs-breaks.js';
import { soundClouds } from '../../test-clouds/mutator/sound-clouds.js';

// The rules are those of LAS 1.4 R16 and 1.5 R00 (ASPRS), the LASzip specification and COPC 1.0; each names its clause in
// specs/checks.md. The files are written by an encoder of our own that knows nothing of the rules.

const folder = mkdtempSync(join(tmpdir(), 'cloudassay-rules-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Candidate {
  name: string;
  bytes: Uint8Array;
  size?: number;
}

/** Ids of the rules that each file breaks, through the whole of `inspect --rules`. */
async function broken(files: readonly Candidate[], more: { strictWkt?: boolean; headerOnly?: boolean } = {}) {
  const delivery = mkdtempSync(join(folder, 'files-'));
  for (const { name, bytes, size } of files) {
    writeFileSync(join(delivery, name), bytes);
    // A longer file has a hole behind its bytes, which takes no room on the disk and reads as zeros.
    if (size !== undefined && size > bytes.length) truncateSync(join(delivery, name), size);
  }
  const report = await testFormatRules([delivery], {
    wkt: more.strictWkt ? 'usgs' : 'las',
    headerOnly: more.headerOnly === true,
    workers: 1,
  });
  rmSync(delivery, { recursive: true });
  expect(report.files).toHaveLength(files.length);
  return new Map(
    files.map(({ name }) => {
      const own = report.findings.filter((f) => f.file === name);
      return [name, [...new Set(own.map((f) => f.rule))].join(' ')];
    }),
  );
}

describe('sound files', () => {
  const clouds = soundClouds(1);
  const sound = Object.entries(clouds).flatMap(([kind, make]) =>
    typeof make === 'function' && kind !== 'lasOf'
      ? [{ name: `${kind}.las`, bytes: (make as () => Uint8Array)() }]
      : [],
  );

  test('break no rule', async () => {
    expect(sound.length).toBeGreaterThan(10);
    expect(await broken(sound)).toEqual(new Map(sound.map(({ name }) => [name, ''])));
  });

  test('nor the stricter convention for WKT', async () => {
    const data = new TextEncoder().encode(`${STRICT_WKT}\0`);
    const bytes = clouds.las14({ crs: null, vlrs: [{ userId: 'LASF_Projection', recordId: 2112, data }] });
    const found = await broken([{ name: 'strict.las', bytes }], { strictWkt: true });
    expect(found.get('strict.las')).toBe('');
  });
});

describe('every rule has a file that breaks only it', () => {
  test('all rules are there', () => {
    const rules = new Set(ruleBreakers(1).map(({ rule }) => rule));
    expect([...rules].sort()).toEqual(
      rulesById()
        .map(({ id }) => id)
        .sort(),
    );
  });

  test.each([1, 2, 3])('seed %i', async (seed) => {
    const breakers = ruleBreakers(seed);
    const large = breakers.filter(({ bytes, size }) => size > bytes.length);
    const strict = breakers.filter(({ strictWkt }) => strictWkt);
    const usual = breakers.filter((breaker) => !large.includes(breaker) && !strict.includes(breaker));
    const found = new Map([
      ...(await broken(usual)),
      ...(await broken(strict, { strictWkt: true })),
      ...(await broken(large, { headerOnly: true })),
    ]);
    const line = ({ rule, what }: RuleBreaker, rules?: string) => `${rule} (${what}): ${rules}`;
    expect(breakers.map((b) => line(b, found.get(b.name)))).toEqual(breakers.map((b) => line(b, b.rule)));
  });

  test('the same seed makes the same files', () => {
    const [a, b] = [ruleBreakers(2), ruleBreakers(2)];
    expect(a.every(({ bytes }, i) => Buffer.compare(bytes, b[i].bytes) === 0)).toBe(true);
  });
});

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { compare } from '../../src/cli/run-compare.js';
import { Fault } from '../../src/fault.js';
import { reportJson } from '../../src/report/json.js';
import { quayRoad } from '../report/sample.js';

let folder = '';
const silent = { out: () => {}, err: () => {}, errTerminal: {}, outTerminal: {}, env: {} };
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'compare-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

// Source: specs/report.schema.json requires these four objects in every requirement.
test.each(['measured', 'limits', 'senses', 'units'])(
  'a report whose requirement has no %s is refused by name',
  async (part) => {
    const whole = join(folder, 'whole.json');
    const broken = join(folder, 'broken.json');
    const report = JSON.parse(reportJson(quayRoad()));
    writeFileSync(whole, JSON.stringify(report));
    delete report.requirements[0][part];
    writeFileSync(broken, JSON.stringify(report));
    await expect(compare(whole, broken, {}, silent)).rejects.toThrow(
      new RegExp(`broken\\.json.*requirements\\[0\\].*${part}`),
    );
  },
);

// Source: specs/report.schema.json gives the type of every value.
// biome-ignore lint/suspicious/noExplicitAny: a report is spoilt in ways that its type forbids
type Loose = Record<string, any>;
test.each<[string, (report: Loose) => unknown]>([
  ['a file without its fault', (r) => delete r.files[0].fault],
  ['a requirement without its locations', (r) => delete r.requirements[0].locations],
  ['a requirement that is null', (r) => (r.requirements[0] = null)],
  ['a figure that is text', (r) => (r.requirements[0].measured.rmse = 'high')],
  ['no delivery', (r) => delete r.delivery],
  ['a spec that is a number', (r) => (r.spec = 3)],
])('an odd report is refused in one sentence: %s', async (_, spoil) => {
  const [whole, odd] = [join(folder, 'whole.json'), join(folder, 'odd.json')];
  const report = JSON.parse(reportJson(quayRoad()));
  writeFileSync(whole, JSON.stringify(report));
  spoil(report);
  writeFileSync(odd, JSON.stringify(report));
  for (const pair of [
    [whole, odd],
    [odd, whole],
  ]) {
    const fault = await compare(pair[0], pair[1], {}, silent).catch((error) => error);
    expect(fault).toBeInstanceOf(Fault);
    expect(fault.message).toMatch(/odd\.json.*Give a report\.json as cloudassay wrote it$/);
  }
});

test('a report with more than this version knows is compared', async () => {
  const path = join(folder, 'newer.json');
  writeFileSync(path, JSON.stringify({ ...JSON.parse(reportJson(quayRoad())), later: [1] }));
  expect(await compare(path, path, {}, silent)).toBe(0);
});

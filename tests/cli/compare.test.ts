import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { compare } from '../../src/cli/run-compare.js';
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

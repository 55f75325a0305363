import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { passAgreement } from '../../src/checks/pass-agreement.js';
import { check } from '../../src/cli/run-check.js';
import * as open from '../../src/cloud/open.js';
import type { SpanResult } from '../../src/engine/job.js';
import { runSpanTasks } from '../../src/engine/scheduler.js';
import { WorkerPool } from '../../src/engine/worker-pool.js';
import { Fault, type FaultFacts } from '../../src/fault.js';
import { densityGrid } from '../../src/measure/density-grid.js';
import { passPairs } from '../../src/measure/pass-pairs.js';
import { planeMoments } from '../../src/measure/plane-moments.js';
import { pointCounts } from '../../src/measure/point-counts.js';
import { voxelCounts } from '../../src/measure/voxel-counts.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { lasOf, soundStreet } from '../checks/check-files.js';

/*
 * Errors of the program are planted in its own objects: the registry holds the measurements themselves, so a spy on one of
 * them is what a mistake in that measurement would be.
 */
const folder = mkdtempSync(join(tmpdir(), 'cloudassay-internal-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
afterEach(() => vi.restoreAllMocks());

const requirements = [
  { id: 'DEN', check: 'density', min: 1, share: 0.5, count: 'first' },
  { id: 'ISO', check: 'isolated-points', maxShare: 0.5 },
  { id: 'REL', check: 'pass-agreement', maxRmsDz: 0.5 },
  { id: 'CRS', check: 'crs' },
];
let delivery: string[] = [];
let spec = '';

beforeAll(() => {
  const street = soundStreet();
  for (const name of ['a.las', 'b.las']) writeFileSync(join(folder, name), lasOf(street));
  delivery = ['a.las', 'b.las'].map((name) => join(folder, name));
  spec = join(folder, 'spec.json');
  writeFileSync(spec, JSON.stringify({ spec: '1', title: 'test', requirements }));
});

const broken = () => {
  throw new TypeError('x is not a function');
};

async function run(against = spec, cache?: string) {
  const errors: FaultFacts[] = [];
  const report = await checkDelivery({
    delivery,
    spec: against,
    cache,
    workers: 1,
    onInternalError: (e) => errors.push(e),
  });
  const verdicts = Object.fromEntries(report.requirements.map((r) => [r.id, r.verdict]));
  return { report, verdicts, errors };
}

describe('an error of the program in a measurement', () => {
  it('does not occur in this delivery', async () => {
    const { report, verdicts, errors } = await run();
    expect(verdicts).toEqual({ DEN: 'pass', ISO: 'pass', REL: 'pass', CRS: 'pass' });
    expect(report.verdict).toBe('accepted');
    expect(errors).toEqual([]);
    // Two passes are one pair, and it is listed.
    expect(report.passes).toHaveLength(2);
    expect(report.passPairs.map(({ a, b }) => [a, b])).toEqual([['source 1', 'source 2']]);
  });

  it.each([
    ['add', () => vi.spyOn(densityGrid, 'add').mockImplementation(broken)],
    ['pack', () => vi.spyOn(densityGrid, 'pack').mockImplementation(broken)],
    ['merge', () => vi.spyOn(densityGrid, 'merge').mockImplementation(broken)],
    ['finish', () => vi.spyOn(densityGrid, 'finish').mockImplementation(broken)],
  ])('%s: only the requirement that asked is undetermined, and no file is to blame', async (_step, plant) => {
    plant();
    const { report, verdicts, errors } = await run();
    expect(verdicts).toEqual({ DEN: 'undetermined', ISO: 'pass', REL: 'pass', CRS: 'pass' });
    expect(report.verdict).toBe('undetermined');
    expect(report.files.map((file) => file.fault)).toEqual([null, null]);
    expect(report.delivery.unreadable).toBe(0);
    const [density] = report.requirements;
    expect(density.summary).toMatch(
      /^measurement density-grid: internal error in cloudassay \(TypeError: x is not a function\)\. Please report it/,
    );
    const findings = report.findings.filter(({ code }) => code === 'internal-error');
    expect(findings.map(({ text, file }) => [text, file])).toEqual([[density.summary, undefined]]);
    expect(errors).toHaveLength(1);
    expect(errors[0].stack).toMatch(/TypeError: x is not a function\n\s+at /);
    expect(JSON.stringify(report)).not.toMatch(/\\n\s+at /);
  });

  it('in a derivation from blocks: the requirement that asked', async () => {
    vi.spyOn(passPairs, 'collect').mockImplementation(broken);
    const { verdicts } = await run();
    expect(verdicts).toEqual({ DEN: 'pass', ISO: 'pass', REL: 'undetermined', CRS: 'pass' });
  });

  it('in one derivation from blocks: what others compute from the same blocks is known', async () => {
    const more = [...requirements, { id: 'SUR', check: 'surface-precision', maxRms: 0.5 }];
    const both = join(folder, 'both.json');
    writeFileSync(both, JSON.stringify({ spec: '1', title: 'test', requirements: more }));
    vi.spyOn(passPairs, 'collect').mockImplementation(broken);
    const { verdicts, errors } = await run(both);
    expect(verdicts).toEqual({ DEN: 'pass', ISO: 'pass', REL: 'undetermined', CRS: 'pass', SUR: 'pass' });
    expect(errors).toHaveLength(1);
  });

  it.each([
    ['while parts of blocks are put together', () => vi.spyOn(passPairs, 'gather').mockImplementation(broken)],
    ['in the choice of a second reading', () => vi.spyOn(passPairs, 'secondReading').mockImplementation(broken)],
    ['in what a check asks to be measured', () => vi.spyOn(passAgreement, 'needs').mockImplementation(broken)],
    [
      'in a wrong parameter of a fact',
      () =>
        vi
          .spyOn(passAgreement, 'needs')
          .mockImplementation(
            () => ({ compared: { measurement: 'pass-pairs', params: { voxel: 1, minPoint: 6 } } }) as never,
          ),
    ],
  ])('%s: the requirement that asked', async (_step, plant) => {
    plant();
    const { verdicts, errors, report } = await run();
    expect(verdicts).toEqual({ DEN: 'pass', ISO: 'pass', REL: 'undetermined', CRS: 'pass' });
    expect(errors).toHaveLength(1);
    expect(report.findings.filter(({ code }) => code === 'internal-error')).toHaveLength(1);
  });

  it('while a state from the cache is cut into blocks: the requirements that rest on blocks', async () => {
    const cache = join(folder, 'cache');
    expect((await run(spec, cache)).verdicts.REL).toBe('pass');
    vi.spyOn(planeMoments.blocks!, 'cut').mockImplementation(broken);
    const { verdicts, errors } = await run(spec, cache);
    expect(verdicts).toEqual({ DEN: 'pass', ISO: 'pass', REL: 'undetermined', CRS: 'pass' });
    expect(errors).toHaveLength(1);
  });

  it('in what a check asks for likely causes: the verdict holds, and the error is reported', async () => {
    const strict = join(folder, 'causes.json');
    const more = [{ id: 'REL', check: 'pass-agreement', maxRmsDz: 1e-9 }];
    writeFileSync(strict, JSON.stringify({ spec: '1', title: 'test', requirements: more }));
    vi.spyOn(passAgreement, 'needsForCauses').mockImplementation(broken);
    const { verdicts, errors } = await run(strict);
    expect(verdicts).toEqual({ REL: 'fail' });
    expect(errors).toHaveLength(1);
  });

  it('in what the report shows of every delivery: the verdicts hold, and nothing is accepted', async () => {
    vi.spyOn(pointCounts, 'add').mockImplementation(broken);
    const { report, verdicts } = await run();
    expect(verdicts).toMatchObject({ ISO: 'pass', CRS: 'pass' });
    expect(report.verdict).toBe('undetermined');
  });

  it('a limit of the measurement itself is a fault of the requirement, not of the files', async () => {
    vi.spyOn(voxelCounts, 'add').mockImplementation(() => {
      throw new Fault({ code: 'cell-too-dense', where: 'isolated points', what: 'a voxel holds too many points' });
    });
    const { report, verdicts, errors } = await run();
    expect(verdicts).toEqual({ DEN: 'pass', ISO: 'undetermined', REL: 'pass', CRS: 'pass' });
    expect(report.files.map((file) => file.fault)).toEqual([null, null]);
    expect(errors).toEqual([]);
    expect(report.findings.filter(({ code }) => code === 'internal-error')).toEqual([]);
  });
});

describe('an error of the program while it reads', () => {
  it('names the program, not the file', async () => {
    const real = open.openCloud;
    vi.spyOn(open, 'openCloud').mockImplementation(async (from, ...more) =>
      (typeof from === 'string' ? from : from.address).endsWith('a.las') ? broken() : real(from, ...more),
    );
    const { report, errors } = await run();
    expect(report.verdict).toBe('undetermined');
    const [finding] = report.findings.filter(({ code }) => code === 'internal-error');
    expect(finding.text).toMatch(/reading a\.las.*internal error in cloudassay \(TypeError/);
    expect(report.findings.some(({ code }) => code === 'file-not-read')).toBe(false);
    expect(errors).toHaveLength(1);
  });
});

describe('on the command line', () => {
  const flags = { formats: [], workers: 1 };
  async function command(env: Record<string, string> = {}) {
    let [out, err] = ['', ''];
    const streams = {
      out: (text: string) => {
        out += text;
      },
      err: (text: string) => {
        err += text;
      },
      errTerminal: {},
      outTerminal: {},
      env: { NO_COLOR: '1', ...env },
    };
    const code = await check(delivery, { ...flags, spec }, streams);
    return { code, out, err };
  }

  it('the exit code is 3, in words, with a stack on request', async () => {
    vi.spyOn(densityGrid, 'add').mockImplementation(broken);
    const plain = await command();
    expect(plain.code).toBe(3);
    expect(plain.err).toMatch(/internal error in cloudassay.*Please report it.*CLOUDASSAY_TRACE=1/);
    expect(plain.err).not.toMatch(/\n\s+at /);
    expect(plain.out).toMatch(/internal error in cloudassay/);
    const traced = await command({ CLOUDASSAY_TRACE: '1' });
    expect(traced.err).toMatch(/TypeError: x is not a function\n\s+at /);
  });

  it('the exit code is 3 even where another requirement rejects the delivery', async () => {
    const strict = join(folder, 'strict.json');
    const more = [...requirements, { id: 'DEN-2', check: 'density', min: 1e6 }];
    writeFileSync(strict, JSON.stringify({ spec: '1', title: 'test', requirements: more }));
    vi.spyOn(densityGrid, 'add').mockImplementation(broken);
    const before = spec;
    spec = strict;
    const { code, out } = await command();
    spec = before;
    expect(code).toBe(3);
    expect(out).toMatch(/rejected/i);
  });
});

describe('a worker thread that dies', () => {
  it('of memory: says so, and the spans beside it are measured', async () => {
    const file = join(folder, 'worker.mjs');
    writeFileSync(
      file,
      `export default ({ work }) => {
        if (work.some((task) => task.file === 1)) { const hoard = []; for (;;) hoard.push(new Array(100000).fill(work)); }
        return { result: { tasks: work, states: [], boxes: new Float64Array(work.length * 6), faults: [], failures: [], damaged: [], chunks: [] }, blocks: [] };
      };`,
    );
    const pool = new WorkerPool(2, { file, resourceLimits: { maxOldGenerationSizeMb: 24 } });
    const span = { first: 0, points: 1, begin: 0, end: 1, pieces: [] };
    const tasks = [0, 1, 2, 3].map((k) => ({ file: k, span }));
    const files = tasks.map((_, k) => ({ address: `${k}.las`, horizontalUnit: 1, heightUnit: 1 }));
    const assignment = {
      measurements: [],
      columns: [],
      files,
      passes: { by: ['file' as const] },
      skippedChunks: [[], [], [], []],
    };
    const results: SpanResult[] = [];
    await runSpanTasks(tasks, assignment, pool, (result) => results.push(result));
    await pool.close();
    const faults = results.flatMap((result) => result.faults);
    expect(results.flatMap((result) => result.tasks.map((task) => task.file)).sort()).toEqual([0, 1, 2, 3]);
    expect(faults.map(({ task }) => task.file)).toEqual([1]);
    expect(faults[0].fault.code).toBe('internal-error');
    expect(Fault.sentence(faults[0].fault)).toMatch(/1\.las: cloudassay ran out of memory.*fewer workers.*more memory/);
  });
});

it('the words of an internal error are in one place', () => {
  const source = readFileSync(join(import.meta.dirname, '../../src/fault.ts'), 'utf8');
  expect(source.match(/internal error in cloudassay/g)?.length).toBe(1);
});

import { execFile } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { main } from '../../src/cli/program.js';
import { type FaultyFile, makeFaults } from '../../test-clouds/faults/make-faults.js';

const program = join(import.meta.dirname, '..', '..', 'bin', 'cloudassay.js');

interface Answer {
  code: number;
  out: string;
  err: string;
}

/** The real program in a process of its own, as a pipeline would call it. */
/** The program as a process of its own. */
function runAlone(...args: string[]): Promise<Answer> {
  return new Promise((done) => {
    execFile(process.execPath, [program, ...args], { env: { ...process.env, NO_COLOR: '1' } }, (error, out, err) => {
      done({ code: error ? Number(error.code) : 0, out, err });
    });
  });
}

/** The program in this process: the same code from arguments to exit code, without a second of start-up each time. */
async function run(...args: string[]): Promise<Answer> {
  let out = '';
  let err = '';
  const code = await main(args, {
    out: (text) => {
      out += text;
    },
    err: (text) => {
      err += text;
    },
    errTerminal: {},
    outTerminal: {},
    env: { NO_COLOR: '1' },
  });
  return { code, out, err };
}

let folder = '';
let faults: FaultyFile[];
let sound = '';
let spec = '';
let specOfPoints = '';
let specOfZone = '';

function write(name: string, text: string): string {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
}

/** Nobody is shown the inside of the program. */
function expectNoTrace({ out, err }: Answer): void {
  expect(`${out}${err}`).not.toMatch(/\n\s+at .*\(?.*:\d+:\d+\)?|node:internal|internal error in cloudassay/);
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-bad-'));
  faults = makeFaults(join(folder, 'faults'));
  sound = faults.find((f) => f.name === 'sound.las')!.path;
  spec = write(
    'spec.json',
    JSON.stringify({
      spec: '1',
      title: 'Quay road, test',
      requirements: [
        { id: 'HDR', check: 'header-agreement' },
        { id: 'DEN', check: 'density', min: 1, share: 0.01 },
      ],
    }),
  );
  const one = (name: string, requirement: object) =>
    write(name, JSON.stringify({ spec: '1', title: 't', requirements: [{ id: 'R', ...requirement }] }));
  specOfPoints = one('spec-points.json', { check: 'vertical-accuracy', maxRmse: 0.02 });
  specOfZone = one('spec-zone.json', { check: 'density', min: 1, zone: 'a' });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

it('as a process of its own the program answers the same, with the same exit code', async () => {
  const cut = faults.find((f) => f.name === 'cut-short.las')!;
  for (const args of [
    ['check', sound, cut.path, '--spec', spec, '--json', '--workers', '1'],
    ['check', join(folder, 'not-there.las'), '--spec', spec],
  ]) {
    const alone = await runAlone(...args);
    expectNoTrace(alone);
    expect(alone).toEqual(await run(...args));
  }
});

describe('a tile that cannot be read', () => {
  it('is a finding with its name and reason; the sound tile beside it is still checked; exit 3', async () => {
    const unreadable = faults.filter((f) => f.expected.how === 'fault' && !f.name.endsWith('/'));
    expect(unreadable.length).toBeGreaterThan(8);
    for (const fault of unreadable) {
      const answer = await run('check', sound, fault.path, '--spec', spec, '--json', '--workers', '1');
      expect([fault.name, answer.code]).toEqual([fault.name, 3]);
      const report = JSON.parse(answer.out);
      const file = report.files.find((f: { file: string }) => f.file === fault.name);
      expect(file.fault, fault.name).toBeTruthy();
      expect(file.fault).not.toMatch(/internal error in cloudassay/);
      expect(report.files.find((f: { file: string }) => f.file === 'sound.las').fault).toBeNull();
      expect(report.delivery.points).toBeGreaterThan(0);
      expect(report.requirements.map((r: { verdict: string }) => r.verdict)).not.toContain('pass');
      expectNoTrace(answer);
    }
  }, 120_000);

  it('does not hide a failure: a requirement that fails on the rest is rejected, exit 1', async () => {
    const strict = write(
      'strict.json',
      JSON.stringify({ spec: '1', title: 't', requirements: [{ id: 'D', check: 'density', min: 1e6 }] }),
    );
    const cut = faults.find((f) => f.name === 'cut-short.las')!;
    const answer = await run('check', sound, cut.path, '--spec', strict, '--workers', '1', '--json');
    expect(answer.code).toBe(1);
    // What is missing in the file that ends early may be the cause: it comes before any advice to capture more.
    const [{ advice }] = JSON.parse(answer.out).requirements;
    expect(advice[0]).toMatch(/^First replace cut-short.las, which could not be read in full, and check again/);
  });
});

describe('files that are odd but readable', () => {
  it('an empty cloud is read, and said to hold no points', async () => {
    const empty = faults.find((f) => f.name === 'no-points.las')!;
    const answer = await run('check', sound, empty.path, '--spec', spec, '--json', '--workers', '1');
    const report = JSON.parse(answer.out);
    expect(report.findings.map((f: { code: string }) => f.code)).toContain('file-without-points');
    expect(answer.code).toBe(0);
  });

  it('one point 185 km away that the header agrees with costs neither time nor memory', async () => {
    const stray = faults.find((f) => /stray/.test(f.name))!;
    const voids = write(
      'voids.json',
      JSON.stringify({ spec: '1', title: 't', requirements: [{ id: 'V', check: 'voids', maxArea: 1e6, cell: 0.5 }] }),
    );
    const answer = await run('check', stray.path, '--spec', voids, '--json', '--workers', '1');
    expectNoTrace(answer);
    expect(answer.code).toBe(0);
    const [x0, y0, , x1, y1] = JSON.parse(answer.out).delivery.extent;
    expect(Math.hypot(x1 - x0, y1 - y0)).toBeGreaterThan(180_000);
  });
});

describe('a question that cannot be asked: one sentence and exit 2', () => {
  const cases: [string, () => string[], RegExp][] = [
    [
      'no file of that name',
      () => [join(folder, 'nowhere.las'), '--spec', spec],
      /nowhere\.las.*(no such|not there|missing|does not exist)/,
    ],
    ['an empty folder', () => [join(folder, 'faults', 'empty-folder'), '--spec', spec], /empty-folder/],
    ['a folder without a cloud', () => [join(folder, 'faults', 'no-clouds'), '--spec', spec], /no-clouds/],
    ['no spec', () => [sound], /--spec/],
    [
      'a spec that is not there',
      () => [sound, '--spec', join(folder, 'no.json')],
      /no\.json: there is no such acceptance spec/,
    ],
    [
      'a spec that is not JSON',
      () => [sound, '--spec', write('broken.json', '{ "spec": "1", ')],
      /broken\.json.*line 1/,
    ],
    [
      'a spec with a typo in an option',
      () => [
        sound,
        '--spec',
        write('typo.json', '{"spec":"1","title":"t","requirements":[{"id":"D","check":"density","mim":4}]}'),
      ],
      /requirements\[0\]\.mim.*did you mean.*min/s,
    ],
    [
      'a spec with an unknown check',
      () => [
        sound,
        '--spec',
        write('check.json', '{"spec":"1","title":"t","requirements":[{"id":"D","check":"desnity","min":4}]}'),
      ],
      /did you mean.*density/,
    ],
    [
      'a points file without heights',
      () => [sound, '--spec', specOfPoints, '--points', write('p.csv', 'id,easting,northing\nA,561001,5932201\n')],
      /p\.csv.*height/s,
    ],
    [
      'a points file with text where a number is due',
      () => [
        sound,
        '--spec',
        specOfPoints,
        '--points',
        write('q.csv', 'id,easting,northing,height\nA,561001,5932201,high\n'),
      ],
      /q\.csv.*line 2.*high/s,
    ],
    [
      'a tile index that no requirement uses',
      () => [sound, '--spec', spec, '--tiles', write('t.geojson', '{"type":"FeatureCollection","features":[]}')],
      /no requirement of .*spec\.json uses the tile index given with --tiles.*"index": true/s,
    ],
    [
      'zones that are not polygons',
      () => [
        sound,
        '--spec',
        specOfZone,
        '--zones',
        write(
          'z.geojson',
          '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"a"},"geometry":{"type":"Point","coordinates":[1,2]}}]}',
        ),
      ],
      /z\.geojson.*[Pp]olygon/s,
    ],
    [
      'a zone that no file names',
      () => [
        sound,
        '--spec',
        write(
          'zone.json',
          '{"spec":"1","title":"t","requirements":[{"id":"D","check":"density","min":4,"zone":"quay"}]}',
        ),
      ],
      /zone quay.*--zones/s,
    ],
    [
      'a zone for a check of whole files',
      () => [
        sound,
        '--spec',
        write('w.json', '{"spec":"1","title":"t","requirements":[{"id":"C","check":"crs","zone":"quay"}]}'),
      ],
      /C \(crs\) judges whole files.*zone/s,
    ],
    ['a number of workers that is none', () => [sound, '--spec', spec, '--workers', 'many'], /whole number/],
    ['a report format that there is not', () => [sound, '--spec', spec, '--formats', 'pdf'], /pdf/],
    [
      'a guarded decision where there is none',
      () => [
        sound,
        '--spec',
        write(
          'g.json',
          '{"spec":"1","title":"t","requirements":[{"id":"D","check":"density","min":4,"decision":"guarded"}]}',
        ),
      ],
      /guarded.*D \(density\)/s,
    ],
  ];
  it.each(cases)('%s', async (_, args, message) => {
    const answer = await run('check', ...args());
    expect(answer.code).toBe(2);
    expect(answer.err).toMatch(message);
    expect(answer.out).toBe('');
    expectNoTrace(answer);
  });

  it('a check that is planned but not built yet is refused, never passed', async () => {
    const { plannedChecks } = await import('../../src/checks/index.js');
    if (plannedChecks.length === 0) return;
    const [planned] = plannedChecks;
    const path = write(
      'planned.json',
      JSON.stringify({ spec: '1', title: 't', requirements: [{ id: 'X', check: planned }] }),
    );
    const answer = await run('check', sound, '--spec', path);
    expect(answer.code).toBe(2);
    expect(answer.err).toContain('not available in this version');
  });
});

describe('reports', () => {
  it('are written whole into the folder asked for, in the formats asked for', async () => {
    const out = join(folder, 'report');
    const answer = await run(
      'check',
      sound,
      '--spec',
      spec,
      '--out',
      out,
      '--formats',
      'json,html,junit,csv,geojson,md',
      '--quiet',
    );
    expect(answer).toMatchObject({ code: 0, out: '' });
    expect(readdirSync(out)).toEqual(
      expect.arrayContaining(['report.json', 'report.html', 'junit.xml', 'report.geojson', 'report.md']),
    );
    expect(readdirSync(out).filter((name) => name.startsWith('.'))).toEqual([]);
    expect(JSON.parse(readFileSync(join(out, 'report.json'), 'utf8')).verdict).toBe('accepted');
  });

  it('with --json standard output is the report and nothing else', async () => {
    const answer = await run('check', sound, '--spec', spec, '--json');
    expect(JSON.parse(answer.out).report).toBe('1');
    expect(answer.err).toContain('accepted');
  });

  it('a folder that cannot be made is known in one sentence', async () => {
    const taken = write('taken', 'a file');
    const answer = await run('check', sound, '--spec', spec, '--out', join(taken, 'report'));
    expect(answer.code).toBe(2);
    expectNoTrace(answer);
  });

  it('two reports can be compared', async () => {
    mkdirSync(join(folder, 'old'), { recursive: true });
    await run('check', sound, '--spec', spec, '--out', join(folder, 'old'), '--formats', 'json', '--quiet');
    const report = join(folder, 'old', 'report.json');
    expect((await run('compare', report, report)).code).toBe(0);
    expect((await run('compare', report, spec)).code).toBe(2);
  });
});

describe('inspect', () => {
  it('describes a cloud in words and as JSON', async () => {
    const words = await run('inspect', sound);
    expect(words.code).toBe(0);
    expect(words.out).toMatch(/LAS 1\.4, point format 6/);
    const [json] = JSON.parse((await run('inspect', sound, '--json')).out);
    expect(json.contents.points).toBe(json.points);
  });

  it('says what it could not read and goes on', async () => {
    const cut = faults.find((f) => f.name === 'cut-short.las')!;
    const answer = await run('inspect', cut.path, sound);
    expect(answer.code).toBe(3);
    expect(answer.err).toContain('cut-short.las');
    expect(answer.out).toContain('sound.las');
  });
});

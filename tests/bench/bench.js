// npm run bench: whole checks, each a process from start to exit with its report written. Figures depend on the machine and its
// load; ratios less. Runs that are compared alternate in rounds, and of every figure the median counts. Nothing here decides a
// test, but every run must come to the verdicts that its case names. A full run writes specs/speed.md; goals are for its sizes
// only. `-- --small` takes a tenth of the points and writes nothing, `-- --rounds N` another number of rounds
// than five, `-- --only street,passes` only these parts.
import { execFileSync, spawnSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { encodeLaz } from '../../dist/src/simulate/encoder/laz-encoder.js';
import { encodeCopc } from '../../dist/test-clouds/encoder/copc-encoder.js';
import { writeBenchDelivery } from '../../dist/test-clouds/scene/bench-delivery.js';
import { writeCorridor } from '../../dist/test-clouds/scene/corridor-delivery.js';
import { asFormatOne } from './format-one.js';
import { decodeWithLazPerf } from './laz-perf-alone.js';
import { gainOfSecondThread } from './two-threads.js';
import { ceiling, inRounds, median } from './whole-process.js';

const small = process.argv.includes('--small');
const only = process.argv.includes('--only') ? process.argv[process.argv.indexOf('--only') + 1].split(',') : null;
const MILLION = small ? 100_000 : 1_000_000;
const TENTH = small ? 0.1 : 1;
const ROUNDS = Number(process.argv[process.argv.indexOf('--rounds') + 1]) || 5;
const folder = mkdtempSync(join(tmpdir(), 'cloudassay-bench-'));
const page = [];
const goals = [];

const DENSITY = { id: 'DEN', check: 'density', min: 400, share: 0.9 };
const HEIGHT = { id: 'ACC', check: 'vertical-accuracy', maxRmse: 0.1, minPoints: 5 };
const PASSES = { id: 'REL', check: 'pass-agreement', maxRmsDz: 0.02 };
const DRIFT = { id: 'DRI', check: 'pass-drift', maxOffset: 0.05 };
const SURFACE = { id: 'SUR', check: 'surface-precision', maxRms: 0.02 };
const STRUCTURE = { id: 'STR', check: 'las-structure' };
const WHOLE = 'density + vertical accuracy + pass agreement';
/** What a sparse corridor can be checked for; planes in voxels of 2 m. */
const EVERYTHING = [
  STRUCTURE,
  { id: 'HDR', check: 'header-agreement' },
  { id: 'DUP', check: 'duplicates' },
  { id: 'DEN', check: 'density', min: 5, share: 0.9 },
  { id: 'DIS', check: 'point-distribution', spacing: 0.5 },
  { id: 'GAP', check: 'voids', maxArea: 25 },
  { id: 'COV', check: 'coverage', cell: 2 },
  { ...PASSES, voxel: 2 },
  { ...SURFACE, voxel: 2 },
  { ...DRIFT, voxel: 2 },
  { id: 'ISO', check: 'isolated-points', maxShare: 0.01 },
  { id: 'EDG', check: 'edge-match', maxStep: 0.02, minPoints: 4 },
];
const points = join(folder, 'points.csv');
const places = Array.from({ length: 30 }, (_, i) => `C${i},${561_003 + i * 2},${5_932_225 + ((i * 7) % 5) - 2},3.2`);
writeFileSync(points, `id,easting,northing,height\n${places.join('\n')}\n`);

/** A run for `inRounds`; every requirement must be met, but for those in `verdicts`. */
function run(name, delivery, requirements, { workers = 2, cores = null, verdicts = {} } = {}) {
  const spec = join(folder, `${requirements.map(({ id, voxel }) => id + (voxel ?? '')).join('-')}.json`);
  writeFileSync(spec, JSON.stringify({ spec: '1', title: name, requirements }));
  const all = Object.fromEntries(requirements.map(({ id }) => [id, verdicts[id] ?? 'pass']));
  const needsPoints = requirements.includes(HEIGHT);
  return { name, delivery, spec, workers, cores, points: needsPoints ? points : null, verdicts: all };
}

function say(line = '') {
  console.log(line);
  page.push(line);
}

/** A table of runs. Lengths are those that points cover, from west to east. */
function table(title, results) {
  say(`\n## ${title}\n`);
  say('| check | workers | million points | s | million points/s | processor s | MB |');
  say('| --- | ---: | ---: | ---: | ---: | ---: | ---: |');
  for (const { name, workers, cores, points: count, seconds, processor, megabytes } of results) {
    const who = `${workers}${cores === null ? '' : ', 1 core'}`;
    say(
      `| ${name} | ${who} | ${fixed(count / 1e6)} | ${fixed(seconds, 2)} | ${fixed(count / 1e6 / seconds, 2)} | ${fixed(processor, 2)} | ${fixed(megabytes, 0)} |`,
    );
  }
  return results;
}

/** What one thread does alone: before the first worker is there, busy while workers work, and after they have ended. */
function serialTable(results) {
  say(
    '\n| one thread alone | before, s | during, s | after, s | s/km | ms/file | s/million points | limit 16 cores | 64 cores |',
  );
  say('| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |');
  for (const result of results) {
    const { name, before, during, after, extent, files, points: count } = result;
    const alone = before + during + after;
    const km = (extent[3] - extent[0]) / 1000;
    say(
      `| ${name} | ${fixed(before, 2)} | ${fixed(during, 2)} | ${fixed(after, 2)} | ${fixed(alone / km, 2)} | ${fixed((1000 * alone) / files)} | ${fixed((1e6 * alone) / count, 3)} | ${fixed(ceiling(result, 16))} x | ${fixed(ceiling(result, 64))} x |`,
    );
  }
}

function fixed(value, digits = 1) {
  return value.toFixed(digits);
}

/** Goals are for the full sizes. */
function goal(what, reached, words, wanted) {
  if (!small) goals.push({ what, words, wanted, reached });
}

function street(gain) {
  const to = join(folder, 'street');
  const { files } = writeBenchDelivery(to, { points: 100 * MILLION });
  // Whole tiles, so that the part ends where a tile ends.
  const part = (share) => files.slice(0, Math.max(1, Math.round(files.length * share))).map(({ path }) => path);
  const whole = [DENSITY, HEIGHT, PASSES];
  const runs = [
    run('density + vertical accuracy', to, [DENSITY, HEIGHT]),
    run(WHOLE, to, whole, { workers: 1 }),
    run(WHOLE, to, whole),
    run(`${WHOLE}, first half`, part(0.5), whole),
    run(`${WHOLE}, first tenth`, part(0.1), whole),
    run('density', to, [DENSITY]),
    run('pass agreement + drift + precision', to, [PASSES, DRIFT, SURFACE]),
    run('density + pass agreement + drift + precision', to, [DENSITY, PASSES, DRIFT, SURFACE]),
    ...(canPin() ? [run(WHOLE, to, whole, { workers: 1, cores: '0' })] : []),
  ];
  const results = table(
    'A street driven three times, LAS format 6, 800 points a square metre and pass',
    inRounds(runs, ROUNDS),
  );
  const [heights, alone, two, half, tenth, density, relative, besides, oneCore] = results;
  serialTable([two, half, besides]);
  const rate = (result) => result.points / 1e6 / result.seconds;
  goal('LAS, density + vertical accuracy', rate(heights) >= 12, `${fixed(rate(heights))} M points/s`, '>= 12');
  goal(`LAS, ${WHOLE}`, rate(two) >= 15, `${fixed(rate(two))} M points/s`, '>= 15');
  const second = alone.seconds / two.seconds;
  const gains = `${fixed(second, 2)} x (pure arithmetic gains ${fixed(gain, 2)} x here)`;
  goal('second worker, whole time', second >= 1.8, gains, '>= 1.8');
  if (oneCore) say(`\nTwo workers against one worker that has one core: ${fixed(oneCore.seconds / two.seconds, 2)} x.`);
  const perPoint = (far, near) => (far.seconds - near.seconds) / (far.points - near.points);
  const linear = perPoint(two, half) / perPoint(half, tenth);
  goal('time a point, second half of the street against 10 to 50 %', linear <= 1.1, `${fixed(linear, 2)} x`, '<= 1.1');
  const perKm = (two.megabytes - half.megabytes) / ((two.extent[3] - half.extent[3]) / 1000);
  goal('memory for each further km of street', perKm < 40, `${fixed(perKm, 0)} MB`, '< 40');
  for (const [what, { seconds }] of [
    ['agreement + drift + precision', relative],
    ['the same and density', besides],
  ]) {
    const cost = seconds / density.seconds;
    goal(`${what}, against density alone`, cost <= 2.5, `${fixed(cost, 2)} x the time`, '<= 2.5');
  }
  rmSync(to, { recursive: true });
}

/** Whether a process can be kept to one core here. */
function canPin() {
  return spawnSync('taskset', ['-c', '0', 'true']).status === 0;
}

function sameArea() {
  const results = [10, 50, 100].map((millions) => {
    const to = join(folder, `area${millions}`);
    // A tenth of the usual density is asked for; the small area has too few of the check points.
    writeBenchDelivery(to, { points: millions * MILLION, density: 80 * millions });
    const [result] = inRounds([run(WHOLE, to, [{ ...DENSITY, min: 40 }, ...(small ? [] : [HEIGHT]), PASSES])], 1);
    rmSync(to, { recursive: true });
    return result;
  });
  const [few, some, many] = table('One area with more and more points', results);
  const ratio = (large) => large.megabytes / few.megabytes;
  goal('peak memory, 50 against 10 million on one area', ratio(some) <= 1.1, `${fixed(ratio(some), 2)} x`, '<= 1.1');
  goal('peak memory, 100 against 10 million on one area', ratio(many) <= 1.1, `${fixed(ratio(many), 2)} x`, '<= 1.1');
  goal('peak memory, 100 million on one area', many.megabytes < 600, `${fixed(many.megabytes, 0)} MB`, '< 600');
}

/** Long and sparse: what grows with ground, not with points. */
function corridor() {
  const deliveries = [50, 100].map((km) => {
    const to = join(folder, `corridor${km}`);
    writeCorridor(to, { metres: km * 1000 * TENTH, tileMetres: 500, passes: 2, density: 10 });
    return run(`all checks, ${fixed(km * TENTH, 0)} km`, to, EVERYTHING);
  });
  const results = table('A sparse corridor, 10 points a square metre and pass', inRounds(deliveries, ROUNDS));
  serialTable(results);
  const [half, whole] = results;
  const growth = (whole.seconds - half.seconds) / half.seconds;
  goal('time of 100 km of corridor against 50 km', growth <= 1.1, `${fixed(1 + growth, 2)} x`, '<= 2.1');
}

function tiles() {
  const runs = [2000, 4000].map((count) => {
    const to = join(folder, `tiles${count}`);
    writeCorridor(to, { metres: 10 * count * TENTH, tileMetres: 10, passes: 2, density: 6 });
    return run(`all checks, ${fixed(count * TENTH, 0)} tiles`, to, EVERYTHING);
  });
  const results = table('Many small tiles, 10 m each', inRounds(runs, ROUNDS));
  serialTable(results);
  const growth = results[1].seconds / results[0].seconds;
  goal('time of 4,000 tiles against 2,000', growth <= 2.1, `${fixed(growth, 2)} x`, '<= 2.1');
}

function passes() {
  const counts = small ? [2, 3, 5, 10] : [2, 10, 50, 100];
  const runs = counts.map((count) => {
    const to = join(folder, `passes${count}`);
    writeCorridor(to, { metres: 10, tileMetres: 10, passes: count, density: 60 });
    return run(`pass agreement, ${count} passes`, to, [PASSES]);
  });
  const results = table('Many passes over the same 10 m', inRounds(runs, ROUNDS));
  const { seconds } = results[3];
  goal('100 passes over the same 10 m', seconds <= 6, `${fixed(seconds)} s`, '<= 6 s');
}

function startUp() {
  const to = join(folder, 'tiny');
  writeCorridor(to, { metres: 10, tileMetres: 10, passes: 1, density: 10 });
  const [tiny] = inRounds([run('one tiny tile', to, [{ ...DENSITY, min: 1 }])], 2 * ROUNDS);
  const program = fileURLToPath(new URL('../../bin/cloudassay.js', import.meta.url));
  const timeOf = (...words) => {
    const seconds = Array.from({ length: 2 * ROUNDS }, () => {
      const start = performance.now();
      execFileSync(process.execPath, words, { stdio: 'ignore' });
      return (performance.now() - start) / 1000;
    });
    return median(seconds);
  };
  const [bare, version] = [timeOf('-e', '0'), timeOf(program, '--version')];
  say('\n## Start\n');
  say(
    `Node.js alone takes ${fixed(bare, 2)} s, --version ${fixed(version, 2)} s, the check of one tiny tile ${fixed(tiny.seconds, 2)} s.`,
  );
  goal('--version', version <= 0.15, `${fixed(version, 2)} s`, '<= 0.15 s');
  goal('the check of one tiny tile', tiny.seconds <= 0.35, `${fixed(tiny.seconds, 2)} s`, '<= 0.35 s');
}

async function compressed() {
  // The street is never shorter: check points lie along 60 m of it.
  const COPIES = small ? 1 : 10;
  const whole = [DENSITY, HEIGHT, PASSES];
  const runs = [];
  const bases = [];
  for (const [kind, format, wanted] of [
    ['LAZ format 1', 1, 2.4],
    ['LAZ format 6', 6, 3],
    ['LAZ format 7', 7, 3],
    ['COPC format 7', 7, null],
  ]) {
    const from = join(folder, 'uncompressed');
    const { files } = writeBenchDelivery(from, {
      points: 4_000_000,
      format: format === 1 ? 6 : format,
      tileMetres: 25,
    });
    const to = join(folder, kind.replaceAll(' ', '-'));
    mkdirSync(to);
    const written = files.map(({ path }, i) => {
      const las = readFileSync(path);
      const copc = kind.startsWith('COPC');
      const bytes = copc ? encodeCopc(las) : encodeLaz(format === 1 ? asFormatOne(las) : las, { chunkSize: 50_000 });
      const name = (k) => join(to, `tile_${i}_${k}${copc ? '.copc' : ''}.laz`);
      for (let k = 0; k < COPIES; k++) k === 0 ? writeFileSync(name(0), bytes) : copyFileSync(name(0), name(k));
      return name(0);
    });
    rmSync(from, { recursive: true });
    runs.push(run(`${kind}, ${WHOLE}`, to, whole), run(`${kind}, the same and every layer`, to, [...whole, STRUCTURE]));
    bases.push({ kind, wanted, rate: wanted === null ? null : await decodeWithLazPerf(written) });
  }
  const results = table(
    'Compressed, 50,000 points a chunk; the same tiles under several names',
    inRounds(runs, ROUNDS),
  );
  say();
  bases.forEach(({ kind, wanted, rate }, i) => {
    if (rate === null) return;
    const { points: count, seconds } = results[2 * i];
    const ratio = count / 1e6 / seconds / rate;
    say(`laz-perf alone decodes ${kind} at ${fixed(rate, 2)} million points a second in one thread.`);
    goal(`${kind}, ${WHOLE}, against laz-perf alone`, ratio >= wanted, `${fixed(ratio, 2)} x`, `>= ${wanted}`);
  });
}

function git(...words) {
  return execFileSync('git', words, { encoding: 'utf8', cwd: fileURLToPath(new URL('.', import.meta.url)) }).trim();
}

try {
  const changed = git('status', '--porcelain', '--untracked-files=no') === '' ? '' : ', with changes';
  say('# Speed\n');
  say(
    `The last full run of \`npm run bench\`. Commit ${git('rev-parse', '--short', 'HEAD')}${changed}; ${cpus()[0]?.model},`,
  );
  say(
    `${availableParallelism()} cores, load ${fixed(loadavg()[0])}, Node.js ${process.version}. Every run is a process from start to exit with its`,
  );
  say(`report written; medians of ${ROUNDS} alternating rounds. Every run came to the verdicts that are expected.`);
  const parts = {
    street: async () => street(await gainOfSecondThread()),
    corridor,
    tiles,
    passes,
    startUp,
    compressed,
    sameArea,
  };
  for (const [name, part] of Object.entries(parts)) if (only === null || only.includes(name)) await part();
  if (small || only !== null) console.log('\nGoals are for a full run at the full sizes.');
  else {
    say('\n## Goals\n');
    say('| what | reached | wanted | |');
    say('| --- | --- | --- | --- |');
    for (const { what, words, wanted, reached } of goals)
      say(`| ${what} | ${words} | ${wanted} | ${reached ? '' : 'NOT REACHED'} |`);
    const path = fileURLToPath(new URL('../../specs/speed.md', import.meta.url));
    writeFileSync(path, `${page.join('\n')}\n`);
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}

// npm run bench: points per second and peak memory of whole checks, and ratios within this one run. Figures depend on the
// machine and its load; ratios less. The street is checked in rounds and the fastest run of each counts, for load only
// makes a run slower. Nothing here decides a test. `-- --small` takes a tenth of the points.
import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { encodeLaz } from '../../dist/src/simulate/encoder/laz-encoder.js';
import { writeBenchDelivery } from '../../dist/test-clouds/scene/bench-delivery.js';
import { asFormatOne } from './format-one.js';
import { decodeWithLazPerf } from './laz-perf-alone.js';
import { gainOfSecondThread } from './two-threads.js';

const small = process.argv.includes('--small');
const MILLION = small ? 100_000 : 1_000_000;
/** How often the checks of the street are run. */
const ROUNDS = 3;
const folder = mkdtempSync(join(tmpdir(), 'cloudassay-bench-'));
const goals = [];

function spec(name, ...requirements) {
  const path = join(folder, `${name}.json`);
  writeFileSync(path, JSON.stringify({ spec: '1', title: name, requirements }));
  return path;
}
const DENSITY = { id: 'DEN', check: 'density', min: 400, share: 0.9 };
const HEIGHT = { id: 'ACC', check: 'vertical-accuracy', maxRmse: 0.1, minPoints: 5 };
const PASSES = { id: 'REL', check: 'pass-agreement', maxRmsDz: 0.02 };
const DRIFT = { id: 'DRI', check: 'pass-drift', maxOffset: 0.05 };
const SURFACE = { id: 'SUR', check: 'surface-precision', maxRms: 0.02 };
const SPECS = {
  density: spec('density', DENSITY),
  'density + vertical accuracy': spec('heights', DENSITY, HEIGHT),
  'density + vertical accuracy + pass agreement': spec('passes', DENSITY, HEIGHT, PASSES),
  'pass agreement + drift + precision': spec('relative', PASSES, DRIFT, SURFACE),
  'density + pass agreement + drift + precision': spec('besides', DENSITY, PASSES, DRIFT, SURFACE),
};
/** Decodes every layer of compressed points of formats 6 to 10. */
const STRUCTURE = 'density + vertical accuracy + pass agreement + structure';
SPECS[STRUCTURE] = spec('structure', DENSITY, HEIGHT, PASSES, { id: 'STR', check: 'las-structure' });
const WHOLE = 'density + vertical accuracy + pass agreement';
const points = join(folder, 'points.csv');
const places = Array.from({ length: 30 }, (_, i) => `C${i},${561_003 + i * 2},${5_932_225 + ((i * 7) % 5) - 2},3.2`);
writeFileSync(points, `id,easting,northing,height\n${places.join('\n')}\n`);

/** One check in a process of its own. @param cores which cores it may use, as taskset names them; null: any */
function checkOnce(delivery, what, workers, cores = null) {
  const options = JSON.stringify({
    delivery: [delivery].flat(),
    spec: SPECS[what],
    points: what.includes('accuracy') ? points : null,
    workers,
  });
  const script = fileURLToPath(new URL('./check-once.js', import.meta.url));
  const pinned = cores === null ? [] : ['taskset', '-c', cores];
  const [program, ...words] = [...pinned, process.execPath, script, options];
  return JSON.parse(execFileSync(program, words, { encoding: 'utf8', maxBuffer: 1 << 26 }));
}

/**
 * Several checks in turn, some rounds of them; of each the fastest, for what else runs on the machine only makes a run
 * slower, and the most memory.
 */
function checks(runs, rounds = ROUNDS) {
  const all = Array.from({ length: rounds }, () => runs.map((run) => checkOnce(...run)));
  return runs.map(([, what, workers, cores], i) => {
    const results = all.map((round) => round[i]);
    const seconds = Math.min(...results.map((r) => r.seconds));
    const megabytes = Math.max(...results.map((r) => r.megabytes));
    const millions = results[0].points / 1e6;
    const rate = millions / seconds;
    const who = `${workers} worker${workers > 1 ? 's' : ' '}${cores ? ', 1 core' : ''}`;
    say(
      `${what}, ${millions.toFixed(1)} M points`,
      `${who.padEnd(16)} ${rate.toFixed(2).padStart(6)} M points/s ${megabytes.toFixed(0).padStart(5)} MB`,
    );
    return { ...results[0], seconds, megabytes, rate };
  });
}

function check(...run) {
  return checks([run], 1)[0];
}

function say(what, figure) {
  console.log(`  ${what.padEnd(66)} ${figure}`);
}

function goal(what, reached, words, wanted) {
  say(what, words);
  goals.push({ what, words, wanted, reached });
}

function delivery(name, options) {
  const to = join(folder, name);
  return { to, ...writeBenchDelivery(to, options) };
}

function street(gain) {
  console.log('Uncompressed LAS, format 6: a street driven three times, 800 points a square metre and pass');
  const { to, files, length } = delivery('street', { points: 100 * MILLION });
  // Whole tiles, so that the part ends where a tile ends.
  const part = (share) => files.slice(0, Math.max(1, Math.round(files.length * share))).map(({ path }) => path);
  const runs = [
    [to, 'density + vertical accuracy', 2],
    [to, WHOLE, 1],
    [to, WHOLE, 2],
    [part(0.5), WHOLE, 2],
    [part(0.1), WHOLE, 2],
  ];
  const compared = [
    [to, 'density', 2],
    [to, 'pass agreement + drift + precision', 2],
    [to, 'density + pass agreement + drift + precision', 2],
  ];
  const pinned = canPin() ? [[to, WHOLE, 1, '0']] : [];
  const [heights, alone, two, half, tenth, oneCore] = checks([...runs, ...pinned]);
  // A ratio of two that are so near to its goal is told from more of them.
  const [density, relative, besides] = checks(compared, 2 * ROUNDS);
  goal('LAS, density + vertical accuracy', heights.rate >= 12, `${heights.rate.toFixed(1)} M points/s`, '>= 12');
  goal(`LAS, ${WHOLE}`, two.rate >= 15, `${two.rate.toFixed(1)} M points/s`, '>= 15');
  const second = two.rate / alone.rate;
  goal(
    'second worker, whole time',
    second >= 1.8,
    `${second.toFixed(2)} x (pure arithmetic gains ${gain.toFixed(2)} x here)`,
    '>= 1.8',
  );
  if (oneCore) say('two workers against one worker that has one core', `${(two.rate / oneCore.rate).toFixed(2)} x`);
  const perPoint = (far, near) => (far.seconds - near.seconds) / (far.points - near.points);
  const linear = perPoint(two, half) / perPoint(half, tenth);
  say('seconds of a run before the first point counts', startUp(two, tenth).toFixed(2));
  goal('time a point, second half of the street against 10 to 50 %', linear <= 1.1, `${linear.toFixed(2)} x`, '<= 1.1');
  const km = ((two.points - half.points) / two.points) * (length / 1000);
  const perKm = (two.megabytes - half.megabytes) / km;
  goal('memory for each further km of street', perKm < 40, `${perKm.toFixed(0)} MB`, '< 40');
  for (const [what, { seconds }] of [
    ['agreement + drift + precision', relative],
    ['the same and density', besides],
  ]) {
    const cost = seconds / density.seconds;
    goal(`${what}, against density alone`, cost <= 2.5, `${cost.toFixed(2)} x the time`, '<= 2.5');
  }
  rmSync(to, { recursive: true });
}

/** Whether a process can be kept to one core here. */
function canPin() {
  try {
    execFileSync('taskset', ['-c', '0', 'true']);
    return true;
  } catch {
    return false;
  }
}

/** What a run costs whatever its size: where the line through two runs meets no points. */
function startUp(far, near) {
  return near.seconds - (near.points * (far.seconds - near.seconds)) / (far.points - near.points);
}

function sameArea() {
  console.log('\nMemory: the same street with more and more points');
  const [few, some, many] = [10, 50, 100].map((millions) => {
    const name = `area${millions}`;
    const { to } = delivery(name, { points: millions * MILLION, density: 80 * millions });
    const result = check(to, WHOLE, 2);
    rmSync(to, { recursive: true });
    return result;
  });
  const ratio = (large) => large.megabytes / few.megabytes;
  goal('peak memory, 50 against 10 million on one area', ratio(some) <= 1.1, `${ratio(some).toFixed(2)} x`, '<= 1.1');
  goal('peak memory, 100 against 10 million on one area', ratio(many) <= 1.1, `${ratio(many).toFixed(2)} x`, '<= 1.1');
  goal('peak memory, 100 million on one area', many.megabytes < 600, `${many.megabytes.toFixed(0)} MB`, '< 600');
}

async function compressed() {
  console.log('\nLAZ, 50,000-point chunks; the same tiles under many names');
  const COPIES = 10;
  for (const [format, wanted] of [
    [1, 2.4],
    [6, 3],
    [7, 3],
  ]) {
    const from = delivery(`las${format}`, { points: 4 * MILLION, ...(format === 1 ? {} : { format }), tileMetres: 25 });
    const to = join(folder, `laz${format}`);
    mkdirSync(to);
    const tiles = from.files.map(({ path }, i) => {
      const las = readFileSync(path);
      const tile = join(to, `tile_${i}_0.laz`);
      writeFileSync(tile, encodeLaz(format === 1 ? asFormatOne(las) : las, { chunkSize: 50_000 }));
      for (let k = 1; k < COPIES; k++) copyFileSync(tile, join(to, `tile_${i}_${k}.laz`));
      return tile;
    });
    const base = await decodeWithLazPerf(tiles);
    say(`laz-perf decodes format ${format}, nothing else`, `1 thread  ${base.toFixed(2).padStart(6)} M points/s`);
    const whole = check(to, WHOLE, 2);
    goal(
      `LAZ format ${format}, ${WHOLE}, against laz-perf alone`,
      whole.rate / base >= wanted,
      `${(whole.rate / base).toFixed(2)} x`,
      `>= ${wanted}`,
    );
    const every = check(to, STRUCTURE, 2);
    say(`LAZ format ${format}, the same and every layer`, `${(every.seconds / whole.seconds).toFixed(2)} x the time`);
    rmSync(from.to, { recursive: true });
    rmSync(to, { recursive: true });
  }
}

try {
  const load = loadavg()[0].toFixed(1);
  console.log(`${cpus()[0]?.model}, ${availableParallelism()} cores, load ${load}, Node ${process.version}\n`);
  street(await gainOfSecondThread());
  sameArea();
  await compressed();
  console.log('\nGoals');
  for (const { what, words, wanted, reached } of goals)
    say(what, `${words}, wanted ${wanted}${reached ? '' : ': NOT REACHED'}`);
} finally {
  rmSync(folder, { recursive: true, force: true });
}

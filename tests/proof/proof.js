// npm run proof [-- --cases shift,void --seeds 1-20 --jobs 2 --write --json file]
// Deliveries with planted sizes and faults from a simulator of its own are checked by the built program; what is reported is
// compared with what was planted. The short run, without --seeds, takes about five minutes on two idle cores.
import { execFileSync, fork } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { cases } from './cases.js';
import { summarise } from './summary.js';
import { consoleTable, page } from './table.js';

function option(name, otherwise) {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? otherwise : process.argv[at + 1];
}

/** Seeds such as `3`, `1-20`, `1,5,9`; null where none are given. */
function seedList(text) {
  if (text === null) return null;
  return text.split(',').flatMap((part) => {
    const [first, last] = part.split('-').map(Number);
    return Array.from({ length: (last ?? first) - first + 1 }, (_, i) => first + i);
  });
}

const wanted = option('cases', null)?.split(',');
const seeds = seedList(option('seeds', null));
const jobs = Number(option('jobs', 2));
const chosen = cases.filter(({ id }) => !wanted || wanted.some((start) => id.startsWith(start)));
if (chosen.length === 0)
  throw new Error(`no case begins with ${wanted.join(' or ')}; there are ${cases.map((c) => c.id).join(', ')}`);
const queue = chosen.flatMap(({ id, runs }) =>
  (seeds ?? Array.from({ length: runs }, (_, i) => i + 1)).map((seed) => ({ id, seed })),
);
const results = new Map();
const total = queue.length;

/** One child works through the queue. */
function work() {
  return new Promise((settle) => {
    const child = fork(fileURLToPath(new URL('./one-run.js', import.meta.url)));
    const next = () => {
      const job = queue.shift();
      if (job) child.send(job);
      else {
        child.disconnect();
      }
    };
    let last = 'no run';
    child.on('message', (result) => {
      last = `${result.id} ${result.seed}`;
      results.set(last, result);
      if (result.crash || result.broken) console.error(`\n${last}: ${result.crash ?? result.broken}`);
      if (process.stderr.isTTY) process.stderr.write(`\r${results.size} of ${total} runs`);
      next();
    });
    child.on('exit', (code) => {
      if (code !== 0)
        results.set(`child after ${last}`, { id: 'child', seed: 0, crash: `child process ended with ${code}` });
      settle();
    });
    next();
  });
}

const started = Date.now();
await Promise.all(Array.from({ length: Math.min(jobs, total) }, work));

// In the order of cases and seeds, so that the table is the same for any number of jobs.
const order = new Map(cases.map(({ id }, k) => [id, k]));
const all = [...results.values()].sort((a, b) => order.get(a.id) - order.get(b.id) || a.seed - b.seed);
const crashes = all.filter((result) => result.crash || result.broken);
const rows = summarise(
  all.flatMap((result) => (result.observations ?? []).map((one) => ({ ...one, seed: result.seed, id: result.id }))),
);
console.log(consoleTable(rows));
const seconds = Math.round((Date.now() - started) / 1000);
const notMet = rows.filter(({ outcome }) => outcome.startsWith('not met'));
console.log(
  `${all.length} deliveries, ${rows.length} claims, ${notMet.length} not met, ${crashes.length} crashes; ${seconds} s`,
);

const file = option('json', null);
if (file) writeFileSync(file, JSON.stringify({ rows, runs: all }, null, 1));
if (process.argv.includes('--write')) {
  const root = fileURLToPath(new URL('../../', import.meta.url));
  const commit = execFileSync('git', ['rev-parse', '--short', 'HEAD'], { cwd: root, encoding: 'utf8' }).trim();
  const target = `${root}specs/proof.md`;
  const words = readFileSync(fileURLToPath(new URL('./page-head.md', import.meta.url)), 'utf8');
  const facts = { date: new Date().toISOString().slice(0, 10), commit, runs: all.length, crashes: crashes.length };
  writeFileSync(target, page(words, rows, facts));
}
process.exitCode = crashes.length > 0 ? 1 : 0;

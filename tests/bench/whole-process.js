import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const here = (name) => fileURLToPath(new URL(name, import.meta.url));

/**
 * One check in a process of its own, from start to exit, with the report written. Seconds; `before`, `during`, `after`: the
 * share of the thread that reads the spec, merges results and judges, alone before the workers begin and after they end, and
 * busy while they work.
 * @param cores which cores it may use, as taskset names them; null: any
 */
export function runCheck({ delivery, spec, points = null, workers, cores = null }) {
  const folder = mkdtempSync(join(tmpdir(), 'cloudassay-run-'));
  try {
    const out = join(folder, 'out');
    const marks = join(folder, 'marks');
    const words = [
      ...(cores === null ? [] : ['taskset', '-c', cores]),
      process.execPath,
      ...['--import', pathToFileURL(here('./watch-threads.mjs')).href],
      here('../../bin/cloudassay.js'),
      ...['check', ...[delivery].flat(), '--spec', spec, '--out', out, '--workers', String(workers), '--quiet'],
      ...(points === null ? [] : ['--points', points]),
    ];
    const start = Date.now();
    const { status, stderr } = spawnSync(words[0], words.slice(1), {
      encoding: 'utf8',
      env: { ...process.env, BENCH_MARKS: marks },
    });
    const end = Date.now();
    if (status === null || status === 2) throw new Error(`a check ended with exit code ${status}: ${stderr}`);
    const report = JSON.parse(readFileSync(join(out, 'report.json'), 'utf8'));
    const lines = readFileSync(marks, 'utf8')
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    const used = lines.find(({ what }) => what === 'used');
    const seconds = (end - start) / 1000;
    return { seconds, ...used, ...serialParts(lines, start, end), ...deliveryOf(report), verdicts: verdictsOf(report) };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** The main thread starts one thread for the command, and that one the workers; with one worker there are none. */
function serialParts(lines, start, end) {
  const own = lines.filter(({ what, thread }) => thread > 0 && (what === 'begin' || what === 'end'));
  const begin = own.find(({ what }) => what === 'begin');
  const last = own.findLast(({ what }) => what === 'end');
  if (!begin || !last) return { before: (end - start) / 1000, during: 0, after: 0 };
  return {
    before: (begin.at - start) / 1000,
    during: (last.busy - begin.busy) / 1000,
    after: (end - last.at) / 1000,
  };
}

function deliveryOf({ delivery }) {
  // The extent of the points that were read, and the ground in cells that hold a point: not what was planned.
  return { points: delivery.points, files: delivery.files, extent: delivery.extent, area: delivery.area };
}

function verdictsOf({ requirements }) {
  return Object.fromEntries(requirements.map(({ id, verdict }) => [id, verdict]));
}

/** The middle one of some numbers; of an even number the lower one of the two. */
export function median(numbers) {
  return [...numbers].sort((a, b) => a - b)[(numbers.length - 1) >> 1];
}

/**
 * Several checks in alternating rounds; of every figure the median.
 * @param runs what `runCheck` takes, each with `verdicts` by requirement: every run must come to these
 */
export function inRounds(runs, rounds) {
  const all = Array.from({ length: rounds }, () =>
    runs.map((run) => {
      const result = runCheck(run);
      const found = JSON.stringify(result.verdicts);
      if (found !== JSON.stringify(run.verdicts)) throw new Error(`${run.name} was judged ${found}`);
      return result;
    }),
  );
  return runs.map((run, i) => {
    const results = all.map((round) => round[i]);
    const middle = (key) => median(results.map((result) => result[key]));
    const figures = ['seconds', 'processor', 'megabytes', 'before', 'during', 'after'];
    return { ...run, ...results[0], ...Object.fromEntries(figures.map((key) => [key, middle(key)])) };
  });
}

/** How many times faster a run can become with so many cores, by Amdahl's law: what one thread does alone stays. */
export function ceiling({ processor, before, during, after }, cores) {
  const alone = before + during + after;
  const shared = Math.max(0, processor - alone);
  return (alone + shared) / (alone + shared / cores);
}

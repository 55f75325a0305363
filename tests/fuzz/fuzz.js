// npm run fuzz -- --minutes 5 [--seed 1] [--from 0] [--count 100000] [--keep folder] [--jobs 2]
// One attempt in 250 is a delivery of several damaged tiles with a random spec, for two workers.
// Mutates headers, records, chunk tables, compressed bytes, hierarchies, specs, survey points, zones and manifests, and reads
// each result as the program would. Nothing may crash, hang (over 10 s of processor time), take over 1 GB, read outside a file, write outside the
// output folder, or put script into the page. A failure names the number that brings it back: --seed S --from I --count 1.
import { fork } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** Of the attempt's own processor time; by the clock six times as much, for a machine may have other things to do. */
const HANG_MS = 10_000;
const STALL_MS = 6 * HANG_MS;
const MOST_MEGABYTES = 1024;
const BATCH = 500;
/** Mutations after which it says how far it is. */
const PROGRESS = 10_000;

function option(name, otherwise) {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? otherwise : process.argv[at + 1];
}
const seed = Number(option('seed', 1));
const first = Number(option('from', 0));
const minutes = option('minutes', null);
const most = Number(option('count', minutes === null ? 100_000 : Number.POSITIVE_INFINITY));
const until = minutes === null ? Number.POSITIVE_INFINITY : Date.now() + Number(minutes) * 60_000;
const keep = option('keep', null);
const jobs = Number(option('jobs', 1));

let next = first;
let done = 0;
let slowest = { ms: 0, index: -1 };
let largest = 0;
const failures = [];
const endings = new Map();
const started = Date.now();

function fail(index, kind, text) {
  failures.push({ index, kind });
  console.log(`\nFAILED ${kind}: --seed ${seed} --from ${index} --count 1\n${text}`);
}

/** Resident megabytes of a process; 0 where the system does not tell. */
function megabytes(pid) {
  try {
    return Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))[1]) / 1024;
  } catch {
    return 0;
  }
}

/** Milliseconds that a process has kept processors busy; 0 where the system does not tell. */
function busy(pid) {
  try {
    // Fields 14 and 15 behind the name in brackets: user and system time in hundredths of a second (proc_pid_stat(5)).
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ').at(-1).split(' ');
    return 10 * (Number(fields[11]) + Number(fields[12]));
  } catch {
    return 0;
  }
}

/** One child after the other works through batches; a child that dies or is killed is replaced behind the number it had. */
async function work() {
  let child = null;
  let queue = [];
  for (;;) {
    if (queue.length === 0) {
      const count = Math.min(BATCH, first + most - next);
      if (count <= 0 || Date.now() > until) break;
      queue = [[next, count]];
      next += count;
    }
    child ??= fork(fileURLToPath(new URL('./attempts.js', import.meta.url)), [], {
      execArgv: ['--max-old-space-size=1024'],
      stdio: ['ignore', 'ignore', 'pipe', 'ipc'],
    });
    const [from, count] = queue.shift();
    const stopped = await watch(child, from, count);
    if (Math.floor(done / PROGRESS) > Math.floor((done - BATCH) / PROGRESS))
      console.log(`${done} done after ${Math.round((Date.now() - started) / 1000)} s`);
    if (stopped === null) continue;
    child = null;
    const rest = from + count - stopped - 1;
    if (rest > 0) queue.unshift([stopped + 1, rest]);
  }
  child?.kill();
}

/** Waits until the batch is done: null; or the child is gone: the number it was at. */
function watch(child, from, count) {
  return new Promise((settle) => {
    let at = from - 1;
    let since = Date.now();
    let busyBefore = busy(child.pid);
    let words = '';
    child.stderr.removeAllListeners('data');
    child.stderr.on('data', (piece) => {
      words = (words + piece).slice(-4000);
    });
    const tick = setInterval(() => {
      const memory = megabytes(child.pid);
      largest = Math.max(largest, memory);
      const spent = Date.now() - since;
      const worked = spent > HANG_MS ? busy(child.pid) - busyBefore : 0;
      const hung = at >= from && (spent > STALL_MS || worked > HANG_MS);
      if (!hung && memory <= MOST_MEGABYTES) return;
      fail(
        Math.max(at, from),
        hung ? 'hang' : 'memory',
        hung ? `after ${spent} ms, ${worked} of them at work` : `${Math.round(memory)} MB`,
      );
      end();
      child.kill('SIGKILL');
      settle(Math.max(at, from));
    }, 100);
    const onMessage = (message) => {
      if (message.started !== undefined) {
        const ms = Date.now() - since;
        if (at >= from) {
          done++;
          if (ms > slowest.ms) slowest = { ms, index: at };
        }
        at = message.started;
        since = Date.now();
        busyBefore = busy(child.pid);
      } else if (message.failed !== undefined) fail(message.failed, 'breach', `${message.what}\n${message.problem}`);
      else {
        done++;
        for (const [key, n] of Object.entries(message.endings)) endings.set(key, (endings.get(key) ?? 0) + n);
        end();
        settle(null);
      }
    };
    const onExit = (code, signal) => {
      end();
      fail(Math.max(at, from), 'crash', `exit ${code ?? signal}\n${words}`);
      settle(Math.max(at, from));
    };
    const end = () => {
      clearInterval(tick);
      child.off('message', onMessage);
      child.off('exit', onExit);
    };
    child.on('message', onMessage);
    child.on('exit', onExit);
    child.send({ seed, from, count, keep });
  });
}

await Promise.all(Array.from({ length: jobs }, work));
const seconds = (Date.now() - started) / 1000;
for (const [key, n] of [...endings].sort(([a], [b]) => (a < b ? -1 : 1)))
  console.log(`${String(n).padStart(8)} ${key}`);
console.log(
  `\n${done} mutations of seed ${seed} from ${first} in ${seconds.toFixed(0)} s (${(done / seconds).toFixed(0)} a second), ` +
    `slowest ${slowest.ms} ms (${slowest.index}), largest process ${Math.round(largest)} MB, failures ${failures.length}`,
);
process.exitCode = failures.length > 0 ? 1 : 0;

// Loaded before everything else in every thread of a measured process (node --import): notes when worker threads begin and
// end, how busy the thread that starts them is meanwhile, and what the process used. A line a thing in the file BENCH_MARKS.
import { appendFileSync } from 'node:fs';
import { isMainThread, threadId } from 'node:worker_threads';

const file = process.env.BENCH_MARKS;
const note = (what, more) =>
  appendFileSync(file, `${JSON.stringify({ what, thread: threadId, at: Date.now(), ...more })}\n`);
/** Milliseconds in which this thread was not waiting. */
const busy = () => performance.eventLoopUtilization().active;

if (file) {
  process.on('worker', (worker) => {
    note('begin', { busy: busy() });
    worker.once('exit', () => note('end', { busy: busy() }));
  });
  if (isMainThread) {
    process.on('exit', () => {
      const { userCPUTime, systemCPUTime, maxRSS } = process.resourceUsage();
      note('used', { processor: (userCPUTime + systemCPUTime) / 1e6, megabytes: maxRSS / 1024 });
    });
  }
}

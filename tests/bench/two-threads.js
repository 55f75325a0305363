import { Worker } from 'node:worker_threads';

/** Arithmetic on 32 kB that each thread has to itself: nothing is shared but the processor. */
const WORK = `
  const { parentPort } = require('node:worker_threads');
  const numbers = new Float64Array(4096).fill(1.5);
  let sum = 0;
  for (let round = 0; round < 200_000; round++) for (let i = 0; i < 4096; i++) sum += numbers[i] * round;
  parentPort.postMessage(sum);
`;

function timeOf(threads) {
  const start = performance.now();
  const all = Array.from(
    { length: threads },
    () => new Promise((resolve) => new Worker(WORK, { eval: true }).once('message', resolve)),
  );
  return Promise.all(all).then(() => performance.now() - start);
}

/** How much more two threads of pure arithmetic get done than one on this machine: 2 on two cores, less where they are one. */
export async function gainOfSecondThread() {
  const rounds = [];
  for (let i = 0; i < 5; i++) rounds.push((2 * (await timeOf(1))) / (await timeOf(2)));
  return rounds.sort((a, b) => a - b)[2];
}

// How results get from a worker to the main thread: moved, in shared memory, or copied. node tests/bench/moving.bench.mjs
import { isMainThread, parentPort, Worker } from 'node:worker_threads';

const PIECES = 400;
const BYTES = 400_000;
const ROUNDS = 4;

if (isMainThread) await compare();
else parentPort.on('message', sendAll);

async function compare() {
  const worker = new Worker(new URL(import.meta.url));
  for (let round = 0; round < ROUNDS; round++) {
    for (const how of ['moved', 'shared', 'copied']) {
      const milliseconds = await receive(worker, how);
      console.log(`${how.padEnd(7)} ${milliseconds.toFixed(0).padStart(5)} ms for ${(PIECES * BYTES) / 1e6} MB`);
    }
  }
  await worker.terminate();
}

/** Asks for all pieces and looks into every page of them. */
function receive(worker, how) {
  return new Promise((resolve) => {
    const start = performance.now();
    let pieces = 0;
    let sum = 0;
    const take = (piece) => {
      const numbers = new Float64Array(piece);
      for (let i = 0; i < numbers.length; i += 512) sum += numbers[i];
      if (++pieces < PIECES) return;
      worker.off('message', take);
      if (!Number.isFinite(sum)) throw new Error('pieces came out damaged');
      resolve(performance.now() - start);
    };
    worker.on('message', take);
    worker.postMessage(how);
  });
}

function sendAll(how) {
  for (let i = 0; i < PIECES; i++) {
    const piece = how === 'shared' ? new SharedArrayBuffer(BYTES) : new ArrayBuffer(BYTES);
    new Float64Array(piece).fill(i);
    parentPort.postMessage(piece, how === 'moved' ? [piece] : []);
  }
}

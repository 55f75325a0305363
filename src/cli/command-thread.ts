import { parentPort, workerData } from 'node:worker_threads';
import { Fault } from '../fault.js';
import { followDrafts } from '../temporary-files.js';
import { main } from './program.js';
import { type CommandThreadData, type FromCommand, RENAMED, RENAMING, type ToCommand } from './thread-messages.js';

// The thread in which a long command runs: its streams are those of the process, reached by messages.
const { args, errTerminal, outTerminal, renaming } = workerData as CommandThreadData;
const port = parentPort!;
const send = (message: FromCommand) => port.postMessage(message);
const stop = new AbortController();
let settle: (unwritten: Fault | null) => void = () => {};

port.on('message', (message: ToCommand) => {
  if (message.kind === 'stop') stop.abort(message.signal);
  else settle(message.unwritten === null ? null : new Fault(message.unwritten));
});
followDrafts({
  begun: (draft) => send({ kind: 'begun', draft }),
  ended: (draft) => send({ kind: 'ended', draft }),
  renaming: (now) => Atomics.store(renaming, 0, now ? RENAMING : RENAMED),
});

const code = await main(args, {
  out: (text) => send({ kind: 'out', text }),
  err: (text) => send({ kind: 'err', text }),
  errTerminal,
  outTerminal,
  env: process.env,
  interrupted: stop.signal,
  settled: () =>
    new Promise((done) => {
      settle = done;
      send({ kind: 'settle' });
    }),
});
send({ kind: 'done', code });
port.close();

import { rmSync } from 'node:fs';
import { setTimeout as delay } from 'node:timers/promises';
import { Worker } from 'node:worker_threads';
import { commandThreadFile, MissingPart } from '../built.js';
import { Fault } from '../fault.js';
import { ExitCode } from './exit-codes.js';
import { internalErrorText } from './internal-error-text.js';
import { interruptionText, type Streams } from './io.js';
import { type CommandThreadData, type FromCommand, RENAMED, RENAMING, type ToCommand } from './thread-messages.js';

/** Time for a command to end by itself after a signal; it gives itself half a second. */
const GRACE_MS = 900;
/** Time for files to be renamed, and for a thread to be ended. */
const ENDING_MS = 400;
const POLL_MS = 5;

/**
 * Runs a command in a thread of its own and answers with its exit code. At SIGINT and SIGTERM a command that does not end by
 * itself, because it computes, is ended from here.
 */
export async function runInThread(args: readonly string[], streams: Streams): Promise<number> {
  const renaming = new Int32Array(new SharedArrayBuffer(4));
  const { out, err, errTerminal, outTerminal, interrupted } = streams;
  const size = ({ isTTY, columns }: Streams['errTerminal']) => ({ isTTY, columns });
  const data: CommandThreadData = { args, errTerminal: size(errTerminal), outTerminal: size(outTerminal), renaming };
  const asksInput = args.some((arg) => /^(--?[a-z-]+=)?-$/.test(arg));
  let thread: Worker;
  try {
    thread = new Worker(commandThreadFile(), { workerData: data, stdin: asksInput });
  } catch (error) {
    if (!(error instanceof MissingPart)) throw error;
    err(`cloudassay: ${error.message}\n`);
    return ExitCode.notFullyTested;
  }
  const drafts = new Set<string>();
  const send = (message: ToCommand) => thread.postMessage(message);
  const failed = (error: unknown) => {
    err(`cloudassay: ${internalErrorText(Fault.from(error, 'cloudassay').facts, streams)}\n`);
    return ExitCode.notFullyTested;
  };
  const ended = new Promise<number>((done) => {
    thread.on('message', async (message: FromCommand) => {
      if (message.kind === 'out') out(message.text);
      else if (message.kind === 'err') err(message.text);
      else if (message.kind === 'begun') drafts.add(message.draft);
      else if (message.kind === 'ended') drafts.delete(message.draft);
      else if (message.kind === 'done') done(message.code);
      else send({ kind: 'settled', unwritten: (await streams.settled?.())?.facts ?? null });
    });
    thread.on('error', (error) => done(failed(error)));
    thread.on('exit', () => done(ExitCode.notFullyTested));
    if (!asksInput) return;
    process.stdin.on('error', (error) => done(failed(error)));
    process.stdin.pipe(thread.stdin!);
  });
  const code = (await Promise.race([ended, interruption(interrupted)])) ?? (await stopped());
  if (asksInput) process.stdin.destroy();
  // Its answer is all that is wanted: a server or a timer may keep the thread. The delay alone must not keep the program running.
  await Promise.race([thread.terminate(), delay(ENDING_MS, undefined, { ref: false })]);
  if (interrupted?.aborted) streams.end?.(code);
  return code;

  async function stopped(): Promise<number> {
    const signal = String(interrupted?.reason);
    send({ kind: 'stop', signal });
    const own = await Promise.race([ended, delay(GRACE_MS, null)]);
    if (own !== null) return own;
    for (let ms = 0; ms < ENDING_MS && Atomics.load(renaming, 0) === RENAMING; ms += POLL_MS) await delay(POLL_MS);
    const isWritten = Atomics.load(renaming, 0) === RENAMED;
    await Promise.race([thread.terminate(), delay(ENDING_MS)]);
    for (const draft of drafts) rmSync(draft, { force: true });
    err(interruptionText(signal, errTerminal, isWritten));
    return ExitCode.notFullyTested;
  }
}

/** Null as soon as the signal aborts. */
function interruption(signal: AbortSignal | undefined): Promise<null> {
  return new Promise((done) => {
    if (signal?.aborted) done(null);
    else signal?.addEventListener('abort', () => done(null), { once: true });
  });
}

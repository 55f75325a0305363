import { Fault } from '../fault.js';
import { ExitCode } from './exit-codes.js';
import { internalErrorText } from './internal-error-text.js';

/** The program's output; tests use their own instead of the process's. */
export interface Streams {
  out: (text: string) => void;
  err: (text: string) => void;
  /** Whether `err` and `out` are terminals, and how wide they are. */
  errTerminal: { isTTY?: boolean; columns?: number };
  outTerminal: { isTTY?: boolean; columns?: number };
  env: Record<string, string | undefined>;
  /** Aborts at SIGINT or SIGTERM, with the name of the signal as its reason. */
  interrupted?: AbortSignal;
  /** Ends the process at once, whatever is still under way in it. */
  end?: (code: number) => void;
  /** Waits until all output is written. Null, or the fault of standard output. */
  settled?: () => Promise<Fault | null>;
}

/** Makes the cursor of a terminal visible, which the progress bar hides. */
const SHOW_CURSOR = '\u001b[?25h';

/** What is said where a signal ends the program. @param isWritten whether the result was written before */
export function interruptionText(signal: string, { isTTY }: Streams['errTerminal'], isWritten = false): string {
  const result = isWritten ? 'the result was already written' : 'no result was written';
  return `${isTTY ? SHOW_CURSOR : ''}cloudassay: stopped by ${signal} before the end; ${result}\n`;
}

/** Codes of a closed pipe: a reader such as `head` may stop early, which does not change the verdict. */
const ENOUGH = ['EPIPE', 'ERR_STREAM_DESTROYED'];

/** The streams of the process. */
export function processStreams(): Streams {
  let failure: NodeJS.ErrnoException | null = null;
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (!ENOUGH.includes(error.code ?? '')) failure ??= error;
  });
  const stop = new AbortController();
  for (const signal of ['SIGINT', 'SIGTERM']) process.once(signal, () => stop.abort(signal));
  // What is thrown outside of any command, as by a library in a callback, must not end the process with the code of a verdict.
  process.once('uncaughtException', (error) => {
    process.stderr.write(`cloudassay: ${internalErrorText(Fault.from(error, 'cloudassay').facts, process)}\n`);
    process.exit(ExitCode.notFullyTested);
  });
  // A failing standard error cannot report its own failure; the exit code still holds.
  process.stderr.on('error', () => {});
  return {
    out: (text) => process.stdout.write(text),
    err: (text) => process.stderr.write(text),
    errTerminal: process.stderr,
    outTerminal: process.stdout,
    env: process.env,
    interrupted: stop.signal,
    end: (code) => process.exit(code),
    settled: async () => {
      await new Promise((done) => process.stdout.write('', done));
      await new Promise((done) => setImmediate(done));
      return failure === null ? null : outputFault(failure);
    },
  };
}

function outputFault(error: NodeJS.ErrnoException): Fault {
  const full = error.code === 'ENOSPC' || error.code === 'EDQUOT';
  return new Fault(
    {
      code: 'output-refused',
      where: 'standard output',
      what: full
        ? 'the disk is full; the output is incomplete'
        : `the output is incomplete (${error.code ?? error.message})`,
      advice: 'Write the report to a folder on a disk with free space (--out)',
    },
    error,
  );
}

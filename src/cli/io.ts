import { Fault } from '../fault.js';

/** Where a program writes; tests put their own in place of the process's. */
export interface Streams {
  out: (text: string) => void;
  err: (text: string) => void;
  /** What the terminal behind `err` and `out` can do. */
  errTerminal: { isTTY?: boolean; columns?: number };
  outTerminal: { isTTY?: boolean; columns?: number };
  env: Record<string, string | undefined>;
  /** Waits until all is written: null, or why standard output took no more. */
  settled?: () => Promise<Fault | null>;
}

/** A reader that has seen enough, such as `head`: that is its right, and changes no verdict. */
const ENOUGH = ['EPIPE', 'ERR_STREAM_DESTROYED'];

export function processStreams(): Streams {
  let failure: NodeJS.ErrnoException | null = null;
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (!ENOUGH.includes(error.code ?? '')) failure ??= error;
  });
  // With nowhere to complain, the exit code must do.
  process.stderr.on('error', () => {});
  return {
    out: (text) => process.stdout.write(text),
    err: (text) => process.stderr.write(text),
    errTerminal: process.stderr,
    outTerminal: process.stdout,
    env: process.env,
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
        ? 'the disk is full, not all could be written'
        : `not all could be written (${error.code ?? error.message})`,
      advice: 'Write the report into a folder with --out, on a disk with room',
    },
    error,
  );
}

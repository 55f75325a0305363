import { url as inspectorAddress } from 'node:inspector';
import { processStreams } from './io.js';

/** Commands that may compute for a long time. */
const LONG: readonly (string | undefined)[] = ['check', 'inspect', 'demo', 'compare'];

/**
 * Runs the program and answers with its exit code; never throws. Long commands run in a thread of their own, so that this
 * one, in which signals arrive, can end them at any time; under a debugger all runs here.
 */
export async function main(args: readonly string[]): Promise<number> {
  const streams = processStreams();
  if (LONG.includes(args[0]) && inspectorAddress() === undefined) {
    const { runInThread } = await import('./run-in-thread.js');
    return runInThread(args, streams);
  }
  const program = await import('./program.js');
  return program.main(args, streams);
}

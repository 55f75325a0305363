import { Command, CommanderError } from 'commander';
import { MissingPart, toolVersion } from '../built.js';
import { Fault, isInternalError, TOO_FEW_HANDLES } from '../fault.js';
import { printable, withoutQueries } from '../report/printable.js';
import { isResultWritten, removeDrafts } from '../temporary-files.js';
import { addCheck } from './check-command.js';
import { addCompare } from './compare-command.js';
import { addDemo } from './demo.js';
import { ExitCode } from './exit-codes.js';
import { addInspect } from './inspect-command.js';
import { internalErrorText } from './internal-error-text.js';
import { interruptionText, type Streams } from './io.js';
import { addSpec } from './spec.js';

/** Time for a command to end by itself after it was interrupted, so that it can take away what it has begun. */
const GRACE_MS = 500;

/**
 * Runs the program and answers with its exit code; never throws. Ends the process only at SIGINT and SIGTERM, because a
 * thread, a server or a disk may keep what is under way from ending.
 */
export async function main(args: readonly string[], all: Streams): Promise<number> {
  // Keys in addresses, of side files too, must not get into a log.
  const isShown = args.includes('--show-queries');
  const streams = isShown ? all : { ...all, err: (text: string) => all.err(withoutQueries(text)) };
  let code: number = ExitCode.accepted;
  const program = buildProgram(streams, (answer) => {
    code = answer;
  });
  try {
    await unlessInterrupted(program.parseAsync(['node', 'cloudassay', ...args]), streams.interrupted);
    const unwritten = (await streams.settled?.()) ?? null;
    if (unwritten !== null) throw unwritten;
    return code;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? ExitCode.accepted : ExitCode.usage;
    if (error instanceof Interruption) {
      removeDrafts();
      streams.err(interruptionText(error.message, streams.errTerminal, isResultWritten()));
      streams.end?.(ExitCode.notFullyTested);
      return ExitCode.notFullyTested;
    }
    if (error instanceof MissingPart) {
      streams.err(`cloudassay: ${error.message}\n`);
      return ExitCode.notFullyTested;
    }
    const fault = Fault.from(error, 'cloudassay');
    streams.err(`cloudassay: ${internalErrorText(fault.facts, streams)}\n`);
    const untested = isInternalError(fault.facts) || fault.facts.code === TOO_FEW_HANDLES;
    return untested ? ExitCode.notFullyTested : ExitCode.usage;
  }
}

/** Its message is the name of the signal. */
class Interruption extends Error {}

/** Waits for a command, or until it is interrupted. @throws Interruption, and what the command throws */
async function unlessInterrupted(command: Promise<unknown>, signal: AbortSignal | undefined): Promise<void> {
  if (signal === undefined) {
    await command;
    return;
  }
  const interruption = new Promise<'interrupted'>((done) => {
    if (signal.aborted) done('interrupted');
    signal.addEventListener('abort', () => done('interrupted'), { once: true });
  });
  // An error that comes after the signal is a consequence of it.
  const ended = command.catch((error) => {
    if (!signal.aborted) throw error;
  });
  if ((await Promise.race([ended, interruption])) !== 'interrupted' && !signal.aborted) return;
  await Promise.race([ended, new Promise((done) => setTimeout(done, GRACE_MS))]);
  throw new Interruption(String(signal.reason));
}

function buildProgram(streams: Streams, finish: (code: number) => void): Command {
  // The parser repeats words of the command line.
  const output = { writeOut: streams.out, writeErr: (text: string) => streams.err(printable(text)) };
  const program = new Command('cloudassay')
    .description('Proves that a delivered lidar point cloud is fit to hand over.')
    .version(toolVersion())
    .exitOverride()
    .configureOutput(output)
    .showHelpAfterError('(cloudassay --help shows what there is)');
  addCheck(program, streams, finish);
  addInspect(program, streams, finish);
  addSpec(program, streams, finish);
  addDemo(program, streams, finish);
  addCompare(program, streams, finish);
  for (const command of allCommands(program)) command.exitOverride().configureOutput(output);
  return program;
}

function allCommands(command: Command): Command[] {
  return command.commands.flatMap((child) => [child, ...allCommands(child)]);
}

import { Command, CommanderError } from 'commander';
import { MissingPart, toolVersion } from '../built.js';
import { Fault, isInternalError } from '../fault.js';
import { addCheck } from './check.js';
import { addCompare } from './compare.js';
import { addDemo } from './demo.js';
import { ExitCode } from './exit-codes.js';
import { addInspect } from './inspect.js';
import { internalErrorText } from './internal-error-text.js';
import { processStreams, type Streams } from './io.js';
import { addSpec } from './spec.js';

/** Runs the program and answers with its exit code; never throws, never ends the process. */
export async function main(args: readonly string[], streams: Streams = processStreams()): Promise<number> {
  let code: number = ExitCode.accepted;
  const program = buildProgram(streams, (answer) => {
    code = answer;
  });
  try {
    await program.parseAsync(['node', 'cloudassay', ...args]);
    const unwritten = (await streams.settled?.()) ?? null;
    if (unwritten !== null) throw unwritten;
    return code;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? ExitCode.accepted : ExitCode.usage;
    if (error instanceof MissingPart) {
      streams.err(`cloudassay: ${error.message}\n`);
      return ExitCode.notFullyTested;
    }
    const fault = Fault.from(error, 'cloudassay');
    streams.err(`cloudassay: ${internalErrorText(fault.facts, streams)}\n`);
    return isInternalError(fault.facts) ? ExitCode.notFullyTested : ExitCode.usage;
  }
}

function buildProgram(streams: Streams, finish: (code: number) => void): Command {
  const program = new Command('cloudassay')
    .description('Proves that a delivered lidar point cloud is fit to hand over.')
    .version(toolVersion())
    .exitOverride()
    .configureOutput({ writeOut: streams.out, writeErr: streams.err })
    .showHelpAfterError('(cloudassay --help shows what there is)');
  addCheck(program, streams, finish);
  addInspect(program, streams, finish);
  addSpec(program, streams, finish);
  addDemo(program, streams, finish);
  addCompare(program, streams, finish);
  for (const command of allCommands(program))
    command.exitOverride().configureOutput({ writeOut: streams.out, writeErr: streams.err });
  return program;
}

function allCommands(command: Command): Command[] {
  return command.commands.flatMap((child) => [child, ...allCommands(child)]);
}

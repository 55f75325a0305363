import { Command, CommanderError } from 'commander';
import { MissingPart, toolVersion } from '../built.js';
import { Fault } from '../fault.js';
import { addCheck } from './check.js';
import { addCompare } from './compare.js';
import { addDemo } from './demo.js';
import { ExitCode } from './exit-codes.js';
import { addInspect } from './inspect.js';
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
    streams.err(`cloudassay: ${sentenceOf(error, streams)}\n`);
    return ExitCode.usage;
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

/** One sentence for what a user can mend; a fault of ours is named as such, with its trace only when asked for. */
function sentenceOf(error: unknown, streams: Streams): string {
  if (error instanceof Fault || error instanceof MissingPart) return error.message;
  if (streams.env.CLOUDASSAY_TRACE && error instanceof Error) return error.stack ?? error.message;
  const text = error instanceof Error ? error.message : String(error);
  return `a mistake in cloudassay itself: ${text}. Set CLOUDASSAY_TRACE=1 and run again to see where`;
}

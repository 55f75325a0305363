import type { Command } from 'commander';
import { STARTER_QUESTIONS } from '../spec/starter.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';

/** Answers given as options. */
export interface StarterFlags {
  title?: string;
  capture?: string;
  horizontal?: string;
  vertical?: string;
  class?: string;
  density?: string;
  gap?: string;
  zone?: string;
}

/** Adds the command `spec new`. */
export function addSpecNew(spec: Command, streams: Streams, finish: (code: number) => void): void {
  const command = spec
    .command('new')
    .description('write a starter spec with notes; asks for every value that no option gives')
    .argument('[file]', 'file to write', 'acceptance-spec.json');
  for (const { flag, question, fallback } of STARTER_QUESTIONS)
    command.option(`${flag} <answer>`, fallback === '' ? question : `${question} (default: ${fallback})`);
  command.action(async (file: string, flags: StarterFlags) => {
    const { askOnTerminal, makeSpec } = await import('./make-spec.js');
    const terminal = process.stdin.isTTY === true && streams.outTerminal.isTTY === true;
    await makeSpec(file, flags, streams, terminal ? askOnTerminal() : null);
    finish(ExitCode.accepted);
  });
}

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

export function addSpecNew(spec: Command, streams: Streams, finish: (code: number) => void): void {
  const command = spec
    .command('new')
    .description('write a starter spec with notes, from flags, and from questions where flags are missing')
    .argument('[file]', 'where to write it', 'acceptance-spec.json');
  for (const { flag, question, fallback } of STARTER_QUESTIONS)
    command.option(`${flag} <answer>`, fallback === '' ? question : `${question}; ${fallback} unless given`);
  command.action(async (file: string, flags: StarterFlags) => {
    const { askOnTerminal, makeSpec } = await import('./make-spec.js');
    const terminal = process.stdin.isTTY === true && streams.outTerminal.isTTY === true;
    await makeSpec(file, flags, streams, terminal ? askOnTerminal() : null);
    finish(ExitCode.accepted);
  });
}

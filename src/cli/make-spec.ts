import { existsSync } from 'node:fs';
import { createInterface } from 'node:readline/promises';
import { Fault } from '../fault.js';
import { writeFileAtomically } from '../report/write.js';
import { availablePlannedChecks, fragments } from '../run/check-fragments.js';
import { parseSpec } from '../spec/load.js';
import { STARTER_QUESTIONS, type StarterAnswers, starterSpec, understandAnswers } from '../spec/starter.js';
import type { Streams } from './io.js';
import type { StarterFlags } from './spec-new.js';

type Typed = Record<keyof StarterAnswers, string>;
/** Asks a question and returns the answer, or the fallback for an empty answer. */
export type Asker = (question: string, fallback: string) => Promise<string>;

/**
 * Writes a starter spec; an existing file is never overwritten. Without `ask`, questions that no flag answers get their default.
 * @throws Fault for an invalid answer or a file that exists
 */
export async function makeSpec(file: string, flags: StarterFlags, streams: Streams, ask: Asker | null): Promise<void> {
  if (existsSync(file)) {
    throw new Fault({
      code: 'file-exists',
      where: file,
      what: 'a file of this name already exists',
      advice: 'Choose another name; an existing spec is never overwritten',
    });
  }
  const typed = {} as Typed;
  const assumed: string[] = [];
  for (const { key, flag, question, fallback } of STARTER_QUESTIONS) {
    const given = flags[flag.slice(2) as keyof StarterFlags];
    if (given === undefined && ask === null && fallback !== '') assumed.push(`${flag} ${fallback}`);
    typed[key] = given ?? (ask ? await ask(question, fallback) : fallback);
  }
  const text = starterSpec(answersOf(typed));
  // Validated before it is written: an invalid starter spec would be a programming error.
  parseSpec(text, file, fragments(), availablePlannedChecks());
  await writeFileAtomically(file, text);
  if (assumed.length > 0) streams.out(`Assumed: ${assumed.join(', ')}\n`);
  streams.out(`${file} written. Set its limits to the agreed values, then run: cloudassay spec explain ${file}\n`);
}

function answersOf(typed: Typed): StarterAnswers {
  try {
    return understandAnswers(typed);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new Fault({ code: 'usage', where: 'spec new', what: error.message });
  }
}

/** Asks the questions on standard output. */
export function askOnTerminal(): Asker {
  return async (question, fallback) => {
    const lines = createInterface({ input: process.stdin, output: process.stdout });
    // While a question is open the terminal hands Ctrl-C over as a character.
    lines.on('SIGINT', () => process.kill(process.pid, 'SIGINT'));
    try {
      const answer = await lines.question(`${question}${fallback === '' ? '' : ` [${fallback}]`}: `);
      return answer.trim() === '' ? fallback : answer;
    } finally {
      lines.close();
    }
  };
}

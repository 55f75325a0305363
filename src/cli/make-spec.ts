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
/** Puts a question and gives the answer; the fallback when nothing was answered. */
export type Asker = (question: string, fallback: string) => Promise<string>;

/**
 * Writes a starter spec; never over a file that is there. Without `ask`, what no flag answers takes its usual value.
 * @throws Fault for an answer that cannot be used and a file that exists
 */
export async function makeSpec(file: string, flags: StarterFlags, streams: Streams, ask: Asker | null): Promise<void> {
  if (existsSync(file)) {
    throw new Fault({
      code: 'file-exists',
      where: file,
      what: 'there is a file of this name already',
      advice: 'Name another, so that no spec is lost',
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
  // Read back before it is written: a starter that cannot be used would be a mistake of ours.
  parseSpec(text, file, fragments(), availablePlannedChecks());
  await writeFileAtomically(file, text);
  if (assumed.length > 0) streams.out(`Assumed: ${assumed.join(', ')}\n`);
  streams.out(
    `${file} is written. Change its limits to what was agreed, then read it back: cloudassay spec explain ${file}\n`,
  );
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
    try {
      const answer = await lines.question(`${question}${fallback === '' ? '' : ` [${fallback}]`}: `);
      return answer.trim() === '' ? fallback : answer;
    } finally {
      lines.close();
    }
  };
}

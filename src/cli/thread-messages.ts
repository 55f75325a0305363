import type { FaultFacts } from '../fault.js';
import type { Streams } from './io.js';

/** What the thread of a command is given when it starts. */
export interface CommandThreadData {
  args: readonly string[];
  errTerminal: Streams['errTerminal'];
  outTerminal: Streams['outTerminal'];
  /** One number: 0, or `RENAMING`, or `RENAMED`. */
  renaming: Int32Array;
}

/** The files of a report are renamed together: the thread must not be ended in between. */
export const RENAMING = 1;
export const RENAMED = 2;

/** From the thread of a command. */
export type FromCommand =
  | { kind: 'out' | 'err'; text: string }
  /** A file is being written under a temporary name, or no longer. */
  | { kind: 'begun' | 'ended'; draft: string }
  | { kind: 'settle' }
  | { kind: 'done'; code: number };

/** To the thread of a command. */
export type ToCommand = { kind: 'stop'; signal: string } | { kind: 'settled'; unwritten: FaultFacts | null };

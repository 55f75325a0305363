/**
 * The parts of a fault: an error in the user's input, stated in one sentence that a surveyor understands.
 *
 * All layers use this type for errors in the input; it imports nothing. Any other error that is thrown is an internal
 * error of cloudassay: `Fault.from` gives it the code `internal-error`, and it never blames a file.
 */
export interface FaultFacts {
  /** Stable code of the fault in kebab case, for scripts and tests. */
  code: string;
  /** What is wrong, as a sentence without the file name (see `where`). */
  what: string;
  /** File, point id or JSON path concerned. */
  where: string;
  /** What was found, and what should have been there, when that helps. */
  found?: string | number;
  expected?: string | number;
  /** What the user can do about it. */
  advice?: string;
  /** For faults of clouds: name of the file format rule that is violated, and its byte position in the file. */
  rule?: string;
  offset?: number;
  /** Where in the program an internal error arose. Shown on request only, never part of a report. */
  stack?: string;
}

/** Code of the faults that are cloudassay's own. */
export const INTERNAL_ERROR = 'internal-error';

/** Whether a fault is an internal error of cloudassay. */
export function isInternalError(facts: Pick<FaultFacts, 'code'> | null): boolean {
  return facts?.code === INTERNAL_ERROR;
}

/** Code of the fault that the system refuses to open more files. Not the fault of any file: the run ends. */
export const TOO_FEW_HANDLES = 'too-few-file-handles';

/** The fault of a system that refuses to open more files (EMFILE, ENFILE); null for any other error. */
export function handlesFault(error: unknown): Fault | null {
  const { code, message } = (error ?? {}) as NodeJS.ErrnoException;
  if (!/\bE[MN]FILE\b/.test(`${code} ${message}`)) return null;
  const facts: FaultFacts = {
    code: TOO_FEW_HANDLES,
    where: 'open files',
    what: 'the system lets this program open too few files at once',
    advice: 'Raise the limit, with ulimit -n 1024 for example, or give fewer workers (--workers)',
  };
  return new Fault(facts, error);
}

/** An error in the user's input; see FaultFacts. */
export class Fault extends Error {
  readonly facts: FaultFacts;

  constructor(facts: FaultFacts, cause?: unknown) {
    super(Fault.sentence(facts), cause === undefined ? undefined : { cause });
    this.name = 'Fault';
    this.facts = facts;
  }

  /** `where: what (found X, expected Y). Advice.` */
  static sentence(facts: FaultFacts): string {
    const parts: string[] = [];
    if (facts.found !== undefined) parts.push(`found ${facts.found}`);
    if (facts.expected !== undefined) parts.push(`expected ${facts.expected}`);
    const detail = parts.length > 0 ? ` (${parts.join(', ')})` : '';
    const advice = facts.advice ? `. ${facts.advice}` : '';
    return `${facts.where}: ${facts.what}${detail}${advice}`;
  }

  /**
   * Turns anything caught into a Fault, so that it can be reported beside the others. Faults pass unchanged; anything else
   * becomes an internal error.
   * @param where what was being done: "reading a.las", "measurement density-grid"
   */
  static from(error: unknown, where: string): Fault {
    if (error instanceof Fault) return error;
    const facts = (error as { facts?: FaultFacts } | null)?.facts;
    if (facts?.code && facts.what) return new Fault(facts, error);
    return handlesFault(error) ?? new Fault(internalErrorFacts(error, where), error);
  }

  toJSON(): FaultFacts {
    return this.facts;
  }
}

/** An internal error in one sentence; where memory ran out, that is what it says. */
function internalErrorFacts(error: unknown, where: string): FaultFacts {
  const name = error instanceof Error ? `${error.name}: ` : '';
  const text = error instanceof Error ? error.message : String(error);
  const stack = error instanceof Error ? error.stack : undefined;
  if (isOutOfMemory(error)) {
    return {
      code: INTERNAL_ERROR,
      where,
      what: `cloudassay ran out of memory (${text})`,
      advice: 'Run it with fewer workers (--workers) or on a machine with more memory',
      stack,
    };
  }
  return {
    code: INTERNAL_ERROR,
    where,
    what: `internal error in cloudassay (${name}${text})`,
    advice: 'Please report it; the files may be in order',
    stack,
  };
}

function isOutOfMemory(error: unknown): boolean {
  if (!(error instanceof Error)) return false;
  const { code } = error as { code?: string };
  return code === 'ERR_WORKER_OUT_OF_MEMORY' || /array buffer allocation failed|out of memory/i.test(error.message);
}

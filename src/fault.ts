/**
 * A fault: something wrong with what the user handed over, said in one sentence a surveyor understands.
 *
 * It is the one vocabulary of errors shared by every layer, and imports nothing. Anything else that is thrown is a
 * mistake of ours and is reported as such.
 */
export interface FaultFacts {
  /** Stable kebab-case name of the kind of fault, for scripts and tests. */
  code: string;
  /** The sentence: what is wrong. No file name in it, that is `where`. */
  what: string;
  /** File, point id or JSON path concerned. */
  where: string;
  /** What was found, and what should have been there, when that helps. */
  found?: string | number;
  expected?: string | number;
  /** What the user can do about it. */
  advice?: string;
  /** Name of the rule of the file format that is broken, and the byte where, for faults of clouds. */
  rule?: string;
  offset?: number;
}

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

  /** Turns anything caught into a Fault, so that it can be reported beside the others. Faults pass unchanged. */
  static from(error: unknown, where: string): Fault {
    if (error instanceof Fault) return error;
    const facts = (error as { facts?: FaultFacts } | null)?.facts;
    if (facts?.code && facts.what) return new Fault(facts, error);
    const text = error instanceof Error ? error.message : String(error);
    return new Fault({ code: 'unexpected', what: `unexpected error: ${text}`, where }, error);
  }

  toJSON(): FaultFacts {
    return this.facts;
  }
}

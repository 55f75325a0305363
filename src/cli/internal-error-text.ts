import { Fault, type FaultFacts } from '../fault.js';
import { printable } from '../report/printable.js';

/** An internal error for the console: its sentence, and with CLOUDASSAY_TRACE=1 the stack, or else how to see it. */
export function internalErrorText(facts: FaultFacts, streams: { env: Record<string, string | undefined> }): string {
  const sentence = printable(Fault.sentence(facts));
  if (facts.stack === undefined) return sentence;
  if (streams.env.CLOUDASSAY_TRACE) return `${sentence}\n${facts.stack}`;
  return `${sentence}. Set CLOUDASSAY_TRACE=1 and run again to see where in the program`;
}

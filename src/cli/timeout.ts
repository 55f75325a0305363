import { Fault } from '../fault.js';

const LONGEST = 300;

/** What the option `--timeout` does, for the help text. */
export const TIMEOUT_HELP = `give up a server that sends nothing for so long, 1 to ${LONGEST} (default: 30)`;

/** The value of `--timeout`, seconds. @throws Fault `usage` */
export function timeoutSeconds(text: string): number {
  const value = Number(text);
  if (value >= 1 && value <= LONGEST) return value;
  throw new Fault({
    code: 'usage',
    where: '--timeout',
    what: `the time must be 1 to ${LONGEST} seconds`,
    found: text,
  });
}

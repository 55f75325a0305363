/** Exit codes of the program. 0, 1 and 3 are verdicts; 2 means that the check could not run. */
export const ExitCode = { accepted: 0, rejected: 1, usage: 2, notFullyTested: 3 } as const;
/** One of the exit codes. */
export type ExitCode = (typeof ExitCode)[keyof typeof ExitCode];

/** What the caller of the program is told. 0, 1 and 3 are verdicts; 2 means the question could not be asked. */
export const ExitCode = { accepted: 0, rejected: 1, usage: 2, notFullyTested: 3 } as const;
export type ExitCode = (typeof ExitCode)[keyof typeof ExitCode];

/** Where a program writes; tests put their own in place of the process's. */
export interface Streams {
  out: (text: string) => void;
  err: (text: string) => void;
  /** What the terminal behind `err` and `out` can do. */
  errTerminal: { isTTY?: boolean; columns?: number };
  outTerminal: { isTTY?: boolean; columns?: number };
  env: Record<string, string | undefined>;
}

export function processStreams(): Streams {
  return {
    out: (text) => process.stdout.write(text),
    err: (text) => process.stderr.write(text),
    errTerminal: process.stderr,
    outTerminal: process.stdout,
    env: process.env,
  };
}

#!/usr/bin/env node
try {
  const { main } = await import('../dist/cli.js');
  process.exitCode = await main(process.argv.slice(2));
} catch (error) {
  // The parts of the program are files too: `main` cannot say so when one of them cannot be opened.
  if (!/^E[MN]FILE$/.test(error.code)) throw error;
  const what = 'the system lets this program open too few files at once';
  console.error(`cloudassay: open files: ${what}. Raise the limit, with ulimit -n 1024 for example`);
  process.exitCode = 3;
}

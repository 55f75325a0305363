import { defineConfig } from 'vitest/config';

// Tests that run sources from src, in one thread. No build comes first: WebAssembly is that of the build there is. Tests of the
// compiled program and of worker threads would run code without the mutant.
export default defineConfig({
  test: {
    include: JSON.parse(process.env.MUTATE_TESTS ?? '["tests/**/*.test.ts"]'),
    exclude: ['dist/**', 'node_modules/**', 'tests/{cli,end-to-end,mutate}/**', 'tests/*.test.ts'],
    maxWorkers: 1,
    testTimeout: 120_000,
    hookTimeout: 120_000,
  },
});

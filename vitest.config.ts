import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    globalSetup: ['tests/build-first.ts'],
    include: ['tests/**/*.test.ts'],
    exclude: ['dist/**', 'node_modules/**'],
    // One test file a core: most of the time goes into single threads.
    maxWorkers: availableParallelism(),
    testTimeout: 120_000,
    hookTimeout: 120_000,
  },
});

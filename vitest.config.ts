import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';

/**
 * Folders whose tests call functions only: their files share one module registry in each thread, so that modules are loaded once, which
 * saves a third of the processor time. Tests that replace modules, measure memory or start the program are in the other project.
 */
const FUNCTIONS = ['checks', 'crs', 'decoder', 'delivery', 'geometry', 'kernel', 'measure', 'report-shape', 'spec'];
const unit = FUNCTIONS.map((folder) => `tests/${folder}/**/*.test.ts`);

export default defineConfig({
  test: {
    globalSetup: ['tests/build-first.ts'],
    exclude: ['dist/**', 'node_modules/**'],
    // One test file a core: most of the time goes into single threads.
    maxWorkers: availableParallelism(),
    testTimeout: 120_000,
    hookTimeout: 120_000,
    projects: [
      { extends: true, test: { name: 'functions', include: unit, isolate: false } },
      {
        extends: true,
        test: { name: 'program', include: ['tests/**/*.test.ts'], exclude: ['dist/**', 'node_modules/**', ...unit] },
      },
    ],
  },
});

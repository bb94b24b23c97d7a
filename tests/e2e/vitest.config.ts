import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

/** End to end: the built program, its real host and a real window. Steps of one story share a window and an order. */
export default defineConfig({
  root: fileURLToPath(new URL('../..', import.meta.url)),
  test: {
    include: ['tests/e2e/**/*.e2e.ts'],
    environment: 'node',
    globalSetup: 'tests/e2e/build.ts',
    pool: 'forks',
    maxWorkers: 1,
    fileParallelism: false,
    sequence: { concurrent: false },
    testTimeout: 180_000,
    hookTimeout: 120_000,
    // A second, the usual time, is little on a machine that does other things beside.
    expect: { poll: { timeout: 30_000 } },
    passWithNoTests: false,
  },
});

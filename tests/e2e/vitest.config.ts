import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

/** Stories that measure how fast the program is, or feed it a camera: nothing else may keep the machine busy. */
const ALONE = ['live', 'live-large', 'frames', 'camera-troubles', 'years', 'import-many'].map(
  (name) => `tests/e2e/${name}.e2e.ts`,
);

/** End to end: the built program, its real host and a real window. Steps of one story share a window and an order. */
export default defineConfig({
  root: fileURLToPath(new URL('../..', import.meta.url)),
  test: {
    environment: 'node',
    globalSetup: 'tests/e2e/build.ts',
    pool: 'forks',
    sequence: { concurrent: false },
    testTimeout: 180_000,
    hookTimeout: 120_000,
    // A second, the usual time, is little on a machine that does other things beside.
    expect: { poll: { timeout: 30_000 } },
    passWithNoTests: false,
    projects: [
      {
        extends: true,
        test: {
          name: 'two at a time',
          include: ['tests/e2e/**/*.e2e.ts'],
          exclude: ALONE,
          maxWorkers: 2,
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: {
          name: 'alone',
          include: ALONE,
          maxWorkers: 1,
          fileParallelism: false,
          sequence: { groupOrder: 1 },
        },
      },
    ],
  },
});

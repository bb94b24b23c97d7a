import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

/**
 * Everything but the end-to-end suite, which needs a browser and has its own settings in tests/e2e.
 * Paths are taken from the project's folder, so the command works from any place.
 */
export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    include: ['tests/**/*.test.ts', 'tests/**/*.test.tsx'],
    exclude: ['**/node_modules/**', 'dist/**', 'tests/e2e/**'],
    environment: 'node',
    // One process for each file: the image library's memory only grows, and a crash stays in its own file.
    pool: 'forks',
    maxWorkers: 2,
    testTimeout: 30_000,
    hookTimeout: 60_000,
    // A renamed folder must not turn into "no tests, all well".
    passWithNoTests: false,
  },
});

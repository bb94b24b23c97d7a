import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

/**
 * `npm run test:faults`: the long form. Every call of every port fails once and for ever, 200 kills, 1500 flipped bits.
 * `npm test` runs the same files in a short form.
 */
const root = fileURLToPath(new URL('../..', import.meta.url));
const env = { ...process.env, DAYBOOK_FAULTS: 'all', DAYBOOK_KILLS: process.env['DAYBOOK_KILLS'] ?? '200' };
const args = ['node_modules/vitest/vitest.mjs', 'run', '--config', 'tests/vitest.config.ts', 'tests/faults'];
const child = spawn(process.execPath, args.with(0, join(root, args[0])).concat(process.argv.slice(2)), {
  cwd: root,
  env,
  stdio: 'inherit',
});
child.on('exit', (code) => {
  process.exitCode = code ?? 1;
});

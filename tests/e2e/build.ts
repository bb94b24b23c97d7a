import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

/** The program as it is shipped: built before the first story, if it is stale. */
export function setup(): void {
  const script = fileURLToPath(new URL('../../electron/build.mjs', import.meta.url));
  // The test runner's own NODE_ENV would put the development build of React into the window.
  const env = { ...process.env, NODE_ENV: 'production' };
  const made = spawnSync(process.execPath, [script, '--silent'], { encoding: 'utf8', env });
  if (made.status !== 0) throw new Error(`The build failed.\n${made.stdout}${made.stderr}`);
}

import { spawn } from 'node:child_process';
import { mkdirSync } from 'node:fs';
import { quietSwitches } from './find.ts';

/** Opens the address as a window of its own, without tabs or address bar; resolves when that window is closed. */
export function openAppWindow(browser: string, url: string, userDataFolder: string): Promise<number> {
  mkdirSync(userDataFolder, { recursive: true, mode: 0o700 });
  const args = [...quietSwitches(userDataFolder), '--window-size=1280,860', `--app=${url}`];
  return new Promise((done, fail) => {
    const child = spawn(browser, args, { stdio: 'ignore' });
    child.once('error', fail);
    child.once('exit', (code) => done(code ?? 0));
    const stop = () => child.kill();
    process.once('SIGINT', stop).once('SIGTERM', stop);
  });
}

import { spawn } from 'node:child_process';
import { mkdirSync } from 'node:fs';
import { quietSwitches } from './find.ts';

export type AppWindow = {
  /** The browser's status, when the person or the system has closed the window. Rejects when it could not be started. */
  readonly ended: Promise<number>;
  close(): void;
};

/** Opens the address as a window of its own, without tabs or address bar. */
export function openAppWindow(browser: string, url: string, userDataFolder: string): AppWindow {
  mkdirSync(userDataFolder, { recursive: true, mode: 0o700 });
  const args = [...quietSwitches(userDataFolder), '--window-size=1280,860', `--app=${url}`];
  const child = spawn(browser, args, { stdio: 'ignore' });
  const close = () => void child.kill();
  process.once('SIGINT', close).once('SIGTERM', close);
  const ended = new Promise<number>((done, fail) => {
    child.once('error', fail);
    child.once('exit', (code) => done(code ?? 0));
  });
  // Whoever waits for it hears it then; it may fail before anybody does.
  ended.catch(() => undefined);
  return { ended, close };
}

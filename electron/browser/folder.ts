import { spawn } from 'node:child_process';
import { Refusal } from '../../shared/index.ts';

/** The system's own way to show a folder; null where there is no desktop to show it on. */
const OPENERS: Partial<Record<NodeJS.Platform, string>> = {
  darwin: 'open',
  win32: 'explorer.exe',
  linux: 'xdg-open',
};

export function folderOpener(hasDesktop: boolean): ((path: string) => Promise<void>) | null {
  const program = OPENERS[process.platform];
  if (program === undefined || !hasDesktop) return null;
  return (path) =>
    new Promise((done, fail) => {
      // The path is one argument of its own and goes through no shell.
      const child = spawn(program, [path], { stdio: 'ignore', detached: true });
      child.once('error', () =>
        fail(new Refusal('no-file-manager', `No file manager could be started. The folder is ${path}`)),
      );
      child.once('spawn', () => {
        child.unref();
        done();
      });
    });
}

import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { isSuperuser } from '../browser/find.ts';
import { projectFolder } from '../paths.ts';
import { fetchElectron } from './fetch-electron.ts';

/** Electron's program file, or a sentence that says why it cannot be used. */
export type ElectronFound =
  { readonly path: string; readonly how: string } | { readonly path: null; readonly why: string };

const DEFAULT_NAME: Partial<Record<NodeJS.Platform, string>> = {
  darwin: 'Electron.app/Contents/MacOS/Electron',
  win32: 'electron.exe',
};

function packageFolder(): string | null {
  try {
    const require = createRequire(join(projectFolder, 'package.json'));
    // Only the package's description: loading the package itself would start its download.
    return dirname(require.resolve('electron/package.json'));
  } catch {
    return null;
  }
}

function nameIn(folder: string | null): string {
  const file = folder === null ? null : join(folder, 'path.txt');
  if (file !== null && existsSync(file)) return readFileSync(file, 'utf8').trim();
  return DEFAULT_NAME[process.platform] ?? 'electron';
}

export const hasDisplay = (env: NodeJS.ProcessEnv): boolean =>
  process.platform !== 'linux' || Boolean(env['DISPLAY'] || env['WAYLAND_DISPLAY']);

function installed(folder: string): string | null {
  if (!existsSync(join(folder, 'path.txt'))) return null;
  const path = join(folder, 'dist', nameIn(folder));
  return existsSync(path) ? path : null;
}

export async function findElectron(
  env: NodeJS.ProcessEnv,
  say: (text: string) => void,
): Promise<ElectronFound> {
  const no = (why: string): ElectronFound => ({ path: null, why });
  if (env['DAYBOOK_SKIP_ELECTRON'] === '1') return no('DAYBOOK_SKIP_ELECTRON is set');
  if (!hasDisplay(env)) return no('there is no display');
  const folder = packageFolder();
  const given = env['ELECTRON_OVERRIDE_DIST_PATH'];
  if (given) {
    const path = join(given, nameIn(folder));
    return existsSync(path)
      ? { path, how: 'ELECTRON_OVERRIDE_DIST_PATH names it' }
      : no(`ELECTRON_OVERRIDE_DIST_PATH holds no ${path}`);
  }
  if (folder === null) return no('its package is not installed');
  if (isSuperuser()) return no('it does not run sandboxed as the superuser');
  const there = installed(folder);
  if (there !== null) return { path: there, how: 'it is installed' };
  const problem = await fetchElectron(folder, env, say);
  const fetched = installed(folder);
  if (fetched !== null) return { path: fetched, how: 'it was just fetched' };
  return no(`its program file is not here and could not be fetched: ${problem ?? 'nothing was left behind'}`);
}

/** Ended within this time with an error: it never really started. */
const START_MS = 10_000;

/** Runs Electron to its end. `null`: it did not start, so the browser window takes over. */
export function runElectron(path: string, env: NodeJS.ProcessEnv): Promise<number | null> {
  const started = Date.now();
  // Set, it would make Electron behave as plain Node.
  const { ELECTRON_RUN_AS_NODE: _, ...clean } = env;
  return new Promise((done) => {
    const child = spawn(path, [projectFolder], { stdio: 'inherit', env: clean });
    child.once('error', () => done(null));
    child.once('exit', (code, signal) => {
      const status = code ?? (signal === null ? 0 : 1);
      // 3: another program has the collection open, which has been said; a second window would not help.
      const neverStarted = status !== 0 && status !== 3 && Date.now() - started < START_MS;
      done(neverStarted ? null : status);
    });
    const stop = () => child.kill();
    process.once('SIGINT', stop).once('SIGTERM', stop);
  });
}

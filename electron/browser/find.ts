import { accessSync, constants, existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';

/** An installed Chromium, Chrome or Edge; they share the switches that are needed. */
const ON_PATH = [
  'chromium',
  'chromium-browser',
  'google-chrome',
  'google-chrome-stable',
  'microsoft-edge',
  'microsoft-edge-stable',
];
const ON_MAC = ['Chromium', 'Google Chrome', 'Microsoft Edge'].map(
  (name) => `/Applications/${name}.app/Contents/MacOS/${name}`,
);
const ON_WINDOWS = [
  ['Chromium', 'Application', 'chrome.exe'],
  ['Google', 'Chrome', 'Application', 'chrome.exe'],
  ['Microsoft', 'Edge', 'Application', 'msedge.exe'],
];

function isRunnable(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

function candidates(env: NodeJS.ProcessEnv): string[] {
  if (process.platform === 'darwin') return ON_MAC;
  if (process.platform === 'win32')
    return ['PROGRAMFILES', 'PROGRAMFILES(X86)', 'LOCALAPPDATA']
      .map((name) => env[name])
      .filter((folder) => folder !== undefined)
      .flatMap((folder) => ON_WINDOWS.map((parts) => join(folder, ...parts)));
  const folders = (env['PATH'] ?? '').split(delimiter).filter((folder) => folder !== '');
  return ON_PATH.flatMap((name) => folders.map((folder) => join(folder, name)));
}

/** DAYBOOK_BROWSER names one; it must exist, or nothing is guessed in its place. */
export function findBrowser(env: NodeJS.ProcessEnv = process.env): string | null {
  const given = env['DAYBOOK_BROWSER'];
  if (given) return existsSync(given) ? given : null;
  return candidates(env).find(isRunnable) ?? null;
}

/** A browser run by the superuser refuses to start inside its own sandbox. */
export const isSuperuser = (): boolean => process.platform !== 'win32' && process.getuid?.() === 0;

/** No first-run pages, no accounts, no traffic of the browser's own. */
export function quietSwitches(userDataFolder: string): string[] {
  return [
    `--user-data-dir=${userDataFolder}`,
    '--no-first-run',
    '--no-default-browser-check',
    '--disable-sync',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-quic',
    '--disable-extensions',
    ...(isSuperuser() ? ['--no-sandbox'] : []),
  ];
}

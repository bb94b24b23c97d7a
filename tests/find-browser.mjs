import { accessSync, constants, existsSync, statSync } from 'node:fs';
import { delimiter, join } from 'node:path';

/**
 * The Chromium-like browser that the window is tested in. Looked for in this order: DAYBOOK_BROWSER, the names that
 * systems give it in PATH, the usual places of the system, and the copy that Playwright keeps.
 */

const NAMES = [
  'chromium',
  'chromium-browser',
  'google-chrome',
  'google-chrome-stable',
  'microsoft-edge',
  'microsoft-edge-stable',
];

const MAC_PLACES = [
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  '/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge',
];

const WINDOWS_PLACES = [
  ['Google', 'Chrome', 'Application', 'chrome.exe'],
  ['Microsoft', 'Edge', 'Application', 'msedge.exe'],
  ['Chromium', 'Application', 'chrome.exe'],
];

/** The one command that gets a browser on this machine. */
export const browserCommand = (root = process.getuid?.() === 0) =>
  existsSync('/etc/debian_version') && root
    ? 'apt-get install -y --no-install-recommends chromium'
    : 'npx playwright install chromium';

/** @param {string} path */
function runs(path) {
  try {
    if (!statSync(path).isFile()) return false;
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/** @param {NodeJS.ProcessEnv} env */
function places(env) {
  if (process.platform === 'darwin') return MAC_PLACES;
  if (process.platform === 'win32') {
    const roots = [env['PROGRAMFILES'], env['PROGRAMFILES(X86)'], env['LOCALAPPDATA']];
    return roots.flatMap((root) => (root ? WINDOWS_PLACES.map((parts) => join(root, ...parts)) : []));
  }
  return [
    '/usr/bin/chromium',
    '/usr/bin/chromium-browser',
    '/opt/google/chrome/chrome',
    '/snap/bin/chromium',
  ];
}

async function playwrightsOwn() {
  try {
    const { chromium } = await import('playwright-core');
    return chromium.executablePath();
  } catch {
    return null;
  }
}

/**
 * @param {NodeJS.ProcessEnv} [env]
 * @returns {Promise<{ path: string, how: string } | { path: null, how: string }>} `how` is a sentence for a person.
 */
export async function findBrowser(env = process.env) {
  const wished = env['DAYBOOK_BROWSER'];
  if (wished)
    return runs(wished)
      ? { path: wished, how: 'named by DAYBOOK_BROWSER' }
      : {
          path: null,
          how: `DAYBOOK_BROWSER names ${wished}, which cannot be run. Correct or unset it, or: ${browserCommand()}`,
        };
  const folders = (env['PATH'] ?? '').split(delimiter).filter(Boolean);
  const inPath = NAMES.flatMap((name) => folders.map((folder) => join(folder, name)));
  const found = [...(process.platform === 'win32' ? [] : inPath), ...places(env)].find(runs);
  if (found) return { path: found, how: 'installed on this machine' };
  const own = await playwrightsOwn();
  if (own && runs(own)) return { path: own, how: "Playwright's own" };
  return {
    path: null,
    how: `No Chromium, Chrome or Edge was found. Get one with: ${browserCommand()}`,
  };
}

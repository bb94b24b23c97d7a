import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/**
 * The browser that the window is tested in: the one that the program itself would open (DAYBOOK_BROWSER, else an
 * installed Chromium, Chrome or Edge), else the copy that Playwright keeps.
 */

/** The one command that gets a browser on this machine. */
export const browserCommand = () =>
  existsSync('/etc/debian_version') && process.getuid?.() === 0
    ? 'apt-get install -y --no-install-recommends chromium'
    : 'npx playwright install chromium';

/** The program's own search. Node 20 cannot load TypeScript, so the builder does; nothing has to be built before. */
async function theProgramsOwn(env) {
  const { runnerImport } = await import('vite');
  const file = fileURLToPath(new URL('../electron/browser/find.ts', import.meta.url));
  const { module } = await runnerImport(file, { configFile: false, logLevel: 'error' });
  return module.findBrowser(env);
}

async function playwrightsOwn() {
  const { chromium } = await import('playwright-core');
  const path = chromium.executablePath();
  return path && existsSync(path) ? path : null;
}

/**
 * @param {NodeJS.ProcessEnv} [env]
 * @returns {Promise<{ path: string | null, how: string }>} `how` is a sentence for a person.
 */
export async function findBrowser(env = process.env) {
  const wished = env['DAYBOOK_BROWSER'];
  const found = await theProgramsOwn(env);
  if (found) return { path: found, how: wished ? 'named by DAYBOOK_BROWSER' : 'installed on this machine' };
  const get = `Get one with: ${browserCommand()}`;
  if (wished) return { path: null, how: `DAYBOOK_BROWSER names ${wished}, which is not there. ${get}` };
  const own = await playwrightsOwn();
  if (own) return { path: own, how: "Playwright's own" };
  return { path: null, how: `No Chromium, Chrome or Edge was found. ${get}` };
}

import { join } from 'node:path';
import { Refusal } from '../../shared/index.ts';
import { findBrowser, isSuperuser } from '../browser/find.ts';
import { browserPdfPrinter } from '../browser/pdf.ts';
import { openAppWindow } from '../browser/window.ts';
import type { AppWindow } from '../browser/window.ts';
import { dataFolder } from '../paths.ts';
import { startServer } from '../server.ts';
import { findElectron, hasDisplay, runElectron } from './electron.ts';

type Say = (text: string) => void;

/** Resolves when the person or the system asks the program to end. */
function untilAskedToEnd(): Promise<void> {
  return new Promise((done) => {
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.once(signal, () => done());
  });
}

async function inBrowser(browser: string, window: AppWindow, say: Say): Promise<void> {
  say(`Opened as a window of ${browser}. Closing that window ends the program.`);
  if (isSuperuser()) say('The browser runs without its sandbox, because it was started by the superuser.');
  const ended = await window.ended;
  if (ended === 0) return;
  say(`The browser ended with ${ended}. The program still runs; open its address yourself, or press Ctrl+C.`);
  await untilAskedToEnd();
}

function noWindowBecause(browser: string | null, env: NodeJS.ProcessEnv): string | null {
  if (env['DAYBOOK_NO_WINDOW'] === '1') return 'DAYBOOK_NO_WINDOW is set';
  if (!hasDisplay(env)) return 'there is no display';
  if (browser === null) return 'no Chromium, Chrome or Edge was found (DAYBOOK_BROWSER can name one)';
  return null;
}

async function loopback(why: string, env: NodeJS.ProcessEnv, say: Say): Promise<number> {
  const browser = findBrowser(env);
  const noWindow = noWindowBecause(browser, env);
  let window: AppWindow | undefined;
  // The browser takes longer to start than the collection to open, so it goes first.
  const openWindow = (url: string): void => {
    if (browser !== null && noWindow === null)
      window = openAppWindow(browser, url, join(dataFolder(env), 'window'));
  };
  const printer = browser === null ? null : browserPdfPrinter(browser);
  const server = await startServer(printer, env, openWindow).catch((error: unknown) => {
    window?.close();
    throw error;
  });
  try {
    say(`Stylus Daybook runs in a browser window, not in Electron: ${why}.`);
    say(`Collection: ${server.collectionFolder}`);
    say(`Address: ${server.url}`);
    say('The address lets its holder in until the program ends; keep it to yourself.');
    if (window !== undefined && browser !== null) await inBrowser(browser, window, say);
    else {
      say(`No window was opened: ${noWindow}. Open the address above; Ctrl+C ends the program.`);
      await untilAskedToEnd();
    }
    return 0;
  } finally {
    await server.close();
  }
}

/** Opens the program; returns the exit status. */
export async function launch(
  env: NodeJS.ProcessEnv = process.env,
  say: Say = (text) => void process.stdout.write(`${text}\n`),
): Promise<number> {
  const electron = await findElectron(env, say);
  if (electron.path !== null) {
    say(`Stylus Daybook runs in Electron: ${electron.how}.`);
    const status = await runElectron(electron.path, env);
    if (status !== null) return status;
  }
  const why = electron.path === null ? electron.why : 'Electron ended as soon as it was started';
  try {
    return await loopback(why, env, say);
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    process.stderr.write(`${error.message}\n`);
    return error.code === 'collection-in-use' ? 3 : 1;
  }
}

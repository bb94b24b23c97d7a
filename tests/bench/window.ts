import { spawn, type ChildProcess } from 'node:child_process';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { chromium, type Browser, type CDPSession, type Page } from 'playwright-core';
import { findBrowser } from '../../electron/browser/find.ts';
import { stop } from '../e2e/program.ts';
import { memoryMb, node, peakMemoryMb, root } from './measure.ts';

/** The program as a person starts it, seen through a real browser window. */
const SWITCHES = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  // The page's own heap, counted to the byte.
  '--enable-precise-memory-info',
];

export function whyNoBrowser(): string | null {
  return findBrowser(process.env) === null ? 'no Chromium, Chrome or Edge was found' : null;
}

type Server = { readonly child: ChildProcess; readonly url: string; readonly startMs: number };

function startServer(collection: string): Promise<Server> {
  const started = performance.now();
  const child = spawn(...node(join(root, 'electron', 'launch.mjs')), {
    cwd: root,
    env: {
      ...process.env,
      DAYBOOK_COLLECTION: collection,
      DAYBOOK_PORT: '0',
      DAYBOOK_NO_WINDOW: '1',
      DAYBOOK_SKIP_ELECTRON: '1',
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  return new Promise((resolve, reject) => {
    let said = '';
    const hear = (chunk: Buffer): void => {
      said += chunk.toString();
      const address = /^Address: (\S+)$/m.exec(said);
      if (address) resolve({ child, url: address[1], startMs: performance.now() - started });
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.once('exit', (code) => reject(new Error(`bench: the program ended with ${code}\n${said}`)));
  });
}

/** Notes when something first shows, by the page's own clock; installed before the page's own scripts. */
const WATCH = `
window.benchSeen = {};
window.benchWatch = (name, selector, count) => {
  const look = () => {
    if (document.querySelectorAll(selector).length >= count) {
      // The frame after the one in which it was put there has shown it.
      requestAnimationFrame(() => (window.benchSeen[name] = performance.now()));
    } else requestAnimationFrame(look);
  };
  look();
};
`;

export type Window = {
  readonly page: Page;
  readonly cdp: CDPSession;
  /** From the command to the address. */
  readonly serverMs: number;
  readonly serverPid: number;
  /** From the command to the page's start, the browser's own start included. */
  readonly untilPageMs: number;
  close(): Promise<void>;
};

/** `watch` runs in the page from its first moment: name, selector, how many of it. */
export async function openWindow(
  collection: string,
  watch: readonly [name: string, selector: string, count: number],
): Promise<Window> {
  const started = performance.now();
  const server = await startServer(collection);
  let browser: Browser | undefined;
  try {
    const executablePath = findBrowser(process.env) ?? '';
    browser = await chromium.launch({ executablePath, args: SWITCHES });
    const context = await browser.newContext({ viewport: { width: 1280, height: 860 } });
    const page = await context.newPage();
    page.setDefaultTimeout(120_000);
    await page.addInitScript(`${WATCH}\nwindow.benchWatch(...${JSON.stringify(watch)});`);
    const untilPageMs = performance.now() - started;
    const cdp = await context.newCDPSession(page);
    // Processor time of the page's thread: it says more than the wall clock of a busy machine.
    await cdp.send('Performance.enable', { timeDomain: 'threadTicks' });
    await page.goto(server.url);
    const open = browser;
    const close = async (): Promise<void> => {
      await open.close();
      await stop(server.child);
    };
    return { page, cdp, serverMs: server.startMs, serverPid: server.child.pid ?? 0, untilPageMs, close };
  } catch (error) {
    await browser?.close();
    await stop(server.child);
    throw error;
  }
}

/** Milliseconds of the page's clock at which `name` first showed. */
export async function seenAt(page: Page, name: string): Promise<number> {
  // Asked from outside: the page's policy lets no text be run as a script, not even ours.
  for (const limit = performance.now() + 120_000; performance.now() < limit; await pause(50)) {
    const at = Number(await page.evaluate(`window.benchSeen[${JSON.stringify(name)}] ?? 0`));
    if (at > 0) return at;
  }
  throw new Error(`bench: "${name}" never showed`);
}

/** Clicks by script, so that the time is the page's own, and waits for what has to show. */
export async function clickUntil(
  page: Page,
  click: string,
  until: readonly [selector: string, count: number],
): Promise<number> {
  const name = `after ${click}`;
  const at = await page.evaluate(
    `(() => { const at = performance.now(); document.querySelector(${JSON.stringify(click)}).click();` +
      `window.benchWatch(...${JSON.stringify([name, ...until])}); return at; })()`,
  );
  return (await seenAt(page, name)) - Number(at);
}

/** Processor time that the page's thread has used so far, ms. */
export async function pageThreadMs({ cdp }: Window): Promise<number> {
  const { metrics } = await cdp.send('Performance.getMetrics');
  return 1000 * (metrics.find(({ name }) => name === 'TaskDuration')?.value ?? NaN);
}

export type Memory = {
  readonly serverMb: number;
  readonly serverPeakMb: number;
  readonly pageMb: number;
  readonly pageHeapMb: number;
};

/** Of the program's process and of the page's own (without the browser that any page needs). */
export async function memoryOf(window: Window): Promise<Memory> {
  const heap = await window.page.evaluate('performance.memory.usedJSHeapSize');
  const browser = await window.page.context().browser()!.newBrowserCDPSession();
  const { processInfo } = await browser.send('SystemInfo.getProcessInfo');
  const pages = processInfo.filter(({ type }) => type === 'renderer').map(({ id }) => memoryMb(id) ?? NaN);
  return {
    serverMb: memoryMb(window.serverPid) ?? NaN,
    serverPeakMb: peakMemoryMb(window.serverPid) ?? NaN,
    pageMb: Math.max(...pages),
    pageHeapMb: Number(heap) / 2 ** 20,
  };
}

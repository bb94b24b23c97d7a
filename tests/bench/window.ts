import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
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

/** Why the program cannot be timed with the window that it opens itself. */
export function whyNoOwnWindow(): string | null {
  return process.platform === 'win32' ? 'its browser is called through a script of a shell' : whyNoBrowser();
}

/** The browser as the program calls it, without a screen and with a door for whoever looks at the time. */
const WITHOUT_SCREEN = ['--headless=new', '--disable-gpu', '--remote-debugging-port=0'];
const LOOK_EVERY_MS = 15;

export type Started = { readonly cardsMs: number; readonly addressMs: number };

/**
 * From the command to so many cards in the window that the program opens itself, with the browser's folder that it keeps
 * between starts: what a person waits for. `data` stands for the person's folder of programs' data. Only looks: at most
 * every 15 ms, and a look and the way there count.
 */
export async function startAsAPerson(collection: string, data: string, cards: number): Promise<Started> {
  const script = join(data, 'browser');
  const called = [findBrowser(process.env) ?? '', ...WITHOUT_SCREEN].map((word) => `'${word}'`).join(' ');
  writeFileSync(script, `#!/bin/sh\nexec ${called} "$@"\n`, { mode: 0o755 });
  const door = join(data, 'stylus-daybook', 'window', 'DevToolsActivePort');
  rmSync(door, { force: true });
  const started = performance.now();
  const server = startServer(collection, {
    DISPLAY: process.env['DISPLAY'] ?? ':0',
    DAYBOOK_BROWSER: script,
    XDG_DATA_HOME: data,
  });
  let browser: Browser | undefined;
  try {
    browser = await behind(door, started + 60_000);
    const page = await firstPage(browser, started + 60_000);
    const count = 'document.querySelectorAll(".card").length';
    while (Number(await page.evaluate(count)) < cards) await pause(LOOK_EVERY_MS);
    await page.evaluate('new Promise((done) => requestAnimationFrame(() => done(0)))');
    const cardsMs = performance.now() - started;
    return { cardsMs, addressMs: (await server).startMs };
  } finally {
    await browser?.close().catch(() => undefined);
    await server.then(({ child }) => stop(child));
  }
}

/** Asked in plain text until the program's page is there: who connects to a browser that still starts may wait for ever. */
async function behind(door: string, limit: number): Promise<Browser> {
  for (; performance.now() < limit; await pause(LOOK_EVERY_MS)) {
    const port = existsSync(door) ? readFileSync(door, 'utf8').split('\n') : [];
    if (port.length < 2) continue;
    const address = `http://127.0.0.1:${port[0]}`;
    const listed = await fetch(`${address}/json/list`).then(
      (answer) => answer.text(),
      () => '',
    );
    if (listed.includes('"url": "http://127.0.0.1')) return chromium.connectOverCDP(address);
  }
  throw new Error('bench: the program opened no browser with its page');
}

async function firstPage(browser: Browser, limit: number): Promise<Page> {
  for (; performance.now() < limit; await pause(LOOK_EVERY_MS)) {
    const page = browser
      .contexts()[0]
      ?.pages()
      .find((one) => one.url().startsWith('http://127.0.0.1'));
    if (page !== undefined) return page;
  }
  throw new Error('bench: the browser showed no page of the program');
}

type Server = { readonly child: ChildProcess; readonly url: string; readonly startMs: number };

const NO_WINDOW = { DAYBOOK_NO_WINDOW: '1' };

function startServer(collection: string, env: NodeJS.ProcessEnv = NO_WINDOW): Promise<Server> {
  const started = performance.now();
  const child = spawn(...node(join(root, 'electron', 'launch.mjs')), {
    cwd: root,
    env: {
      ...process.env,
      DAYBOOK_COLLECTION: collection,
      DAYBOOK_PORT: '0',
      DAYBOOK_SKIP_ELECTRON: '1',
      ...env,
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

import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { createRequire } from 'node:module';
import { fileURLToPath, pathToFileURL } from 'node:url';
import {
  _electron as electron,
  chromium,
  type Browser,
  type BrowserContextOptions,
  type Page,
} from 'playwright-core';

/** Starts the program the way a person does, on a collection of its own that is thrown away afterwards. */
export type Shell = 'browser window' | 'Electron';
export type Program = {
  readonly page: Page;
  readonly shell: Shell;
  readonly collection: string;
  /** The host's process, where it is one of its own. */
  readonly hostPid: number | null;
  /** Whatever the page reported as an error; a story ends with this empty. */
  readonly troubles: readonly string[];
  close(): Promise<void>;
};

const root = fileURLToPath(new URL('../..', import.meta.url));

export const BROWSER_SWITCHES = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  // Every other host is away; whoever is asked for all the same shows up among the troubles.
  '--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1',
];

/** Null when the suite can run in Electron, else why it cannot. */
export function whyNoElectron(): string | null {
  if (electronProgram() === null) return 'Electron’s program file is not on this machine';
  return process.getuid?.() === 0 ? 'Electron does not run sandboxed as the superuser' : null;
}

/** Electron's program file, found without loading the package: loading it would start a download. */
function electronProgram(): string | null {
  const override = process.env['ELECTRON_OVERRIDE_DIST_PATH'];
  const folder = dirname(createRequire(import.meta.url).resolve('electron/package.json'));
  const name = join(folder, 'path.txt');
  if (!existsSync(name)) return null;
  const program = join(override ?? join(folder, 'dist'), readFileSync(name, 'utf8').trim());
  return existsSync(program) ? program : null;
}

function browserProgram(): string {
  const named = process.env['DAYBOOK_BROWSER'];
  const path = named ?? '/usr/bin/chromium';
  if (!existsSync(path)) throw new Error(`No browser at ${path}. Name one with DAYBOOK_BROWSER.`);
  return path;
}

type Server = { readonly child: ChildProcess; readonly url: string; readonly asked: string[] };

const preload = (name: string): string => `--import=${pathToFileURL(join(root, 'tests', 'e2e', name)).href}`;
/** Refuses and reports every connection of the program that leaves this machine. */
const NO_NETWORK = preload('no-network.mjs');
/** Holds the disk up where a story says so. */
const GATE = preload('gate.mjs');

function startServer(collection: string, gate: string | undefined): Promise<Server> {
  const child = spawn(process.execPath, [join(root, 'electron', 'launch.mjs')], {
    cwd: root,
    env: {
      ...process.env,
      DAYBOOK_COLLECTION: collection,
      DAYBOOK_PORT: '0',
      DAYBOOK_NO_WINDOW: '1',
      DAYBOOK_SKIP_ELECTRON: '1',
      NODE_OPTIONS: [process.env['NODE_OPTIONS'] ?? '', NO_NETWORK, ...(gate === undefined ? [] : [GATE])]
        .join(' ')
        .trim(),
      ...(gate === undefined ? {} : { DAYBOOK_GATE: gate }),
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  return new Promise((resolve, reject) => {
    let said = '';
    const asked: string[] = [];
    const late = setTimeout(() => reject(new Error(`No address after 60 s.\n${said}`)), 60_000);
    const hear = (chunk: Buffer): void => {
      said += chunk.toString('utf8');
      for (const [line] of chunk.toString('utf8').matchAll(/^asked for: .*$/gm))
        asked.push(`program: ${line}`);
      const address = /^Address: (\S+)$/m.exec(said);
      if (address === null) return;
      clearTimeout(late);
      resolve({ child, url: address[1], asked });
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.once('exit', (code) => {
      clearTimeout(late);
      reject(new Error(`The program ended with ${code} before it had an address.\n${said}`));
    });
  });
}

/** Asks a program to end, and makes it after ten seconds. */
export async function stop(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null) return;
  const ended = new Promise((resolve) => {
    child.once('exit', resolve);
  });
  child.kill('SIGTERM');
  const killed = setTimeout(() => child.kill('SIGKILL'), 10_000);
  await ended;
  clearTimeout(killed);
}

const OWN = /^(http:\/\/127\.0\.0\.1:\d+\/|daybook:\/\/app\/|blob:|data:|about:)/;

/** `troubles` may hold what the program itself has already reported. */
function watch(page: Page, troubles: string[] = []): string[] {
  page.on('request', (request) => {
    if (!OWN.test(request.url())) troubles.push(`page asked for: ${request.url()}`);
  });
  page.on('pageerror', (error) => troubles.push(`page: ${error.message}`));
  page.on('console', (message) => {
    if (message.type() === 'error') troubles.push(`console: ${message.text()}`);
  });
  return troubles;
}

export type BrowserOptions = BrowserContextOptions & {
  /** More switches of the browser, for instance a fake camera. */
  readonly switches?: readonly string[];
  /** A file's path: while it is there, pictures are held up on their way into the collection (`gate.mjs`). */
  readonly gate?: string;
};

/** `kept`: a collection that outlives this start of the program; its story tidies it away itself. */
export async function openProgram(
  shell: Shell,
  options: BrowserOptions = {},
  kept: string | null = null,
): Promise<Program> {
  const collection = kept ?? mkdtempSync(join(tmpdir(), 'daybook-e2e-'));
  const tidy = (): void => {
    if (kept === null) rmSync(collection, { recursive: true, force: true });
  };
  return shell === 'Electron' ? openElectron(collection, tidy) : openBrowserWindow(collection, options, tidy);
}

async function openBrowserWindow(
  collection: string,
  { switches = [], gate, ...options }: BrowserOptions,
  tidy: () => void,
): Promise<Program> {
  const server = await startServer(collection, gate);
  let browser: Browser | null = null;
  try {
    browser = await chromium.launch({
      executablePath: browserProgram(),
      args: [...BROWSER_SWITCHES, ...switches],
    });
    const context = await browser.newContext({
      viewport: { width: 1280, height: 860 },
      acceptDownloads: true,
      ...options,
    });
    const page = await context.newPage();
    page.setDefaultTimeout(60_000);
    const troubles = watch(page, server.asked);
    await page.goto(server.url);
    // a key pressed before the window listens is lost
    await page.getByRole('heading', { level: 1 }).first().waitFor();
    const open = browser;
    const close = async (): Promise<void> => {
      await open.close();
      await stop(server.child);
      tidy();
    };
    const hostPid = server.child.pid ?? null;
    return { page, shell: 'browser window', collection, hostPid, troubles, close };
  } catch (error) {
    await browser?.close();
    await stop(server.child);
    tidy();
    throw error;
  }
}

async function openElectron(collection: string, tidy: () => void): Promise<Program> {
  const program = electronProgram();
  if (program === null) throw new Error('openElectron: Electron’s program file is not here');
  const application = await electron.launch({
    executablePath: program,
    args: [root],
    cwd: root,
    env: { ...(process.env as Record<string, string>), DAYBOOK_COLLECTION: collection },
  });
  const page = await application.firstWindow();
  const troubles = watch(page);
  const close = async (): Promise<void> => {
    await application.close();
    tidy();
  };
  return { page, shell: 'Electron', collection, hostPid: null, troubles, close };
}

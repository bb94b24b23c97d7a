import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, it, vi } from 'vitest';
import { answerPage, hardenSession } from '../../electron/shell/pages.ts';
import { isOwnPage, isTrustedSender, mayLoad, mayNavigate, mayUse } from '../../electron/shell/rules.ts';
import { notRun } from '../not-run.ts';
import { temporaryFolder } from './support.ts';

/**
 * Electron's program file is not there in most test runs, so its shell is tested against a double that records what was
 * asked of it. That Electron then does it is Electron's promise and is not shown here.
 */
const FOREIGN = [
  'https://evil.example/',
  'http://127.0.0.1:1/',
  'file:///etc/passwd',
  'daybook://other/',
  'daybook://app.evil/',
  'daybook://app@evil/',
  'daybook://u:p@app/',
  'daybookx://app/',
  'javascript:alert(1)',
  'about:blank',
  'not an address',
  '',
];

describe('the rules', () => {
  it.each(FOREIGN)('keep out %s', (url) => {
    expect(isOwnPage(url)).toBe(false);
    expect(isTrustedSender({ url, parent: null })).toBe(false);
    expect(mayNavigate(url, true)).toBe(false);
    expect(mayLoad(url)).toBe(false);
    expect(mayUse('media', { url, isMainFrame: true, mediaTypes: ['video'] })).toBe(false);
  });

  it('let the own page in, as the top frame only', () => {
    const url = 'daybook://app/index.html#/stylus/1';
    expect(isTrustedSender({ url, parent: null })).toBe(true);
    expect(isTrustedSender({ url, parent: {} })).toBe(false);
    expect(isTrustedSender(null)).toBe(false);
  });

  it('give the camera’s picture to the own page, and nothing else', () => {
    const own = { url: 'daybook://app/index.html', isMainFrame: true, mediaTypes: ['video'] };
    expect(mayUse('media', own)).toBe(true);
    expect(mayUse('media', { ...own, mediaTypes: ['audio'] })).toBe(false);
    expect(mayUse('media', { ...own, mediaTypes: ['video', 'audio'] })).toBe(false);
    expect(mayUse('media', { ...own, mediaTypes: [] })).toBe(false);
    expect(mayUse('media', { ...own, isMainFrame: false })).toBe(false);
    for (const permission of [
      'geolocation',
      'notifications',
      'clipboard-read',
      'hid',
      'fullscreen',
      'openExternal',
    ])
      expect(mayUse(permission, own)).toBe(false);
  });

  it('let the sheet’s preview be a frame, and nothing navigate', () => {
    expect(mayNavigate('about:srcdoc', false)).toBe(true);
    expect(mayNavigate('about:srcdoc', true)).toBe(false);
    expect(mayNavigate('https://evil.example/', false)).toBe(false);
    expect(mayNavigate('daybook://app/index.html', true)).toBe(false);
  });
});

describe('the pages', () => {
  it('come from the one folder with the same headers as on the loopback address', async () => {
    const folder = join(temporaryFolder(), 'renderer');
    mkdirSync(folder);
    writeFileSync(join(folder, 'index.html'), 'page');
    writeFileSync(join(folder, '..', 'secret.txt'), 'secret');
    const page = await answerPage(folder, new Request('daybook://app/index.html'));
    expect([page.status, await page.text()]).toEqual([200, 'page']);
    expect(page.headers.get('content-security-policy')).toContain("script-src 'self'");
    expect(page.headers.get('x-content-type-options')).toBe('nosniff');
    for (const url of [
      'daybook://app/..%2fsecret.txt',
      'daybook://app/secret.txt',
      'daybook://other/index.html',
    ])
      expect((await answerPage(folder, new Request(url))).status, url).toBe(404);
    const posted = await answerPage(folder, new Request('daybook://app/index.html', { method: 'POST' }));
    expect(posted.status).toBe(405);
  });

  it('are loaded in a session whose doors are shut', () => {
    const handlers: Record<string, (...args: unknown[]) => unknown> = {};
    const keep = (name: string) => (handler: (...args: unknown[]) => unknown) =>
      void (handlers[name] = handler);
    hardenSession({
      setPermissionRequestHandler: keep('request'),
      setPermissionCheckHandler: keep('check'),
      setDevicePermissionHandler: keep('device'),
      webRequest: { onBeforeRequest: keep('load') },
      on: (_name: string, handler: (...args: unknown[]) => unknown) => keep('download')(handler),
    } as unknown as Parameters<typeof hardenSession>[0]);
    const asked = (details: object) => {
      let answer: unknown;
      handlers['request']?.(null, 'media', (given: unknown) => (answer = given), details);
      return answer;
    };
    const own = { requestingUrl: 'daybook://app/index.html', isMainFrame: true };
    expect(asked({ ...own, mediaTypes: ['video'] })).toBe(true);
    expect(asked({ ...own, mediaTypes: ['audio'] })).toBe(false);
    expect(asked(own)).toBe(false);
    expect(handlers['check']?.(null, 'media', '', { ...own, mediaType: 'video' })).toBe(true);
    expect(
      handlers['check']?.(null, 'media', 'https://evil.example', { isMainFrame: true, mediaType: 'video' }),
    ).toBe(false);
    expect(handlers['device']?.()).toBe(false);
    const load = (url: string) => {
      let cancelled: unknown;
      handlers['load']?.({ url }, (given: { cancel: unknown }) => (cancelled = given.cancel));
      return cancelled;
    };
    expect(load('daybook://app/a.js')).toBe(false);
    expect(load('https://fonts.example/a.woff2')).toBe(true);
    expect(load('file:///etc/passwd')).toBe(true);
    const download = { stopped: false, preventDefault: () => (download.stopped = true) };
    handlers['download']?.(download, { getURL: () => 'https://evil.example/x' });
    expect(download.stopped).toBe(true);
  });
});

type Handler = (...args: never[]) => unknown;
const recorded = vi.hoisted(() => ({
  windows: [] as { options: { webPreferences: Record<string, unknown> }; urls: string[] }[],
  contents: new Map<string, Handler>(),
  asked: [] as { message: string; buttons: string[] }[],
  answer: 0,
  hostClosed: 0,
  app: new Map<string, Handler>(),
  ipc: new Map<string, Handler>(),
  schemes: [] as unknown[],
  sandboxed: false,
  exposed: new Map<string, Record<string, Handler>>(),
  sent: [] as unknown[][],
  hostCalls: [] as unknown[][],
}));

vi.mock('electron', () => ({
  app: {
    enableSandbox: () => (recorded.sandboxed = true),
    commandLine: { appendSwitch: () => undefined },
    on: (name: string, handler: Handler) => recorded.app.set(name, handler),
    whenReady: async () => undefined,
    requestSingleInstanceLock: () => true,
    quit: () => undefined,
    exit: () => undefined,
  },
  protocol: { registerSchemesAsPrivileged: (schemes: unknown[]) => recorded.schemes.push(...schemes) },
  session: {
    fromPartition: () => ({
      setPermissionRequestHandler: () => undefined,
      setPermissionCheckHandler: () => undefined,
      setDevicePermissionHandler: () => undefined,
      webRequest: { onBeforeRequest: () => undefined },
      protocol: { handle: () => undefined },
      on: () => undefined,
    }),
  },
  ipcMain: { handle: (name: string, handler: Handler) => recorded.ipc.set(name, handler) },
  dialog: {
    showErrorBox: () => undefined,
    showMessageBoxSync: (_window: unknown, question: { message: string; buttons: string[] }) => {
      recorded.asked.push(question);
      return recorded.answer;
    },
  },
  BrowserWindow: class {
    static getAllWindows = () => [];
    urls: string[] = [];
    webContents = { on: (name: string, handler: Handler) => recorded.contents.set(name, handler) };
    constructor(options: { webPreferences: Record<string, unknown> }) {
      recorded.windows.push({ options, urls: this.urls });
    }
    loadURL = async (url: string) => void this.urls.push(url);
  },
  contextBridge: {
    exposeInMainWorld: (name: string, api: Record<string, Handler>) => recorded.exposed.set(name, api),
  },
  ipcRenderer: {
    invoke: async (...args: unknown[]) => {
      recorded.sent.push(args);
      return { ok: true, value: 7 };
    },
    on: () => undefined,
    off: () => undefined,
  },
}));

vi.mock('../../electron/paths.ts', () => ({
  collectionFolder: () => '/c',
  demoFolder: () => null,
  preloadFile: '/p/preload.cjs',
  programVersion: () => '0',
  rendererFolder: '/r',
  workerFile: '/w',
}));

vi.mock('../../electron/host/host.ts', () => ({
  openHost: async () => ({
    call: async (...args: unknown[]) => {
      recorded.hostCalls.push(args);
      return { ok: true, value: 'let in' };
    },
    listen: () => () => undefined,
    start: async () => undefined,
    close: async () => void recorded.hostClosed++,
  }),
}));

describe('the shell, against a double of Electron', () => {
  beforeEach(async () => {
    await import('../../electron/main.ts');
    await vi.waitUntil(() => recorded.windows.length > 0);
  });

  it('opens one closed window on its own page', () => {
    const [window] = recorded.windows;
    expect(window?.urls).toEqual(['daybook://app/index.html']);
    expect(window?.options.webPreferences).toMatchObject({
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      webSecurity: true,
      spellcheck: false,
      preload: '/p/preload.cjs',
    });
    expect(recorded.sandboxed).toBe(true);
    expect(recorded.schemes).toEqual([
      { scheme: 'daybook', privileges: { standard: true, secure: true, supportFetchAPI: true } },
    ]);
  });

  it('lets calls in from its own top frame only', async () => {
    const call = recorded.ipc.get('daybook:call') as (
      event: object,
      name: string,
      input: object,
    ) => Promise<unknown>;
    const from = (url: string, parent: unknown) => call({ senderFrame: { url, parent } }, 'app.info', {});
    expect(await from('daybook://app/index.html', null)).toMatchObject({ ok: true });
    expect(await from('https://evil.example/', null)).toMatchObject({
      ok: false,
      error: { code: 'not-let-in' },
    });
    expect(await from('daybook://app/index.html', {})).toMatchObject({ ok: false });
    expect(await call({ senderFrame: null }, 'app.info', {})).toMatchObject({ ok: false });
    expect(recorded.hostCalls).toEqual([['app.info', {}]]);
  });

  it('denies every way out of the page', () => {
    const created = recorded.app.get('web-contents-created') as unknown as (
      event: object,
      contents: object,
    ) => void;
    const on = new Map<string, (event: object) => void>();
    let open: (() => { action: string }) | undefined;
    created(
      {},
      {
        setWindowOpenHandler: (handler: () => { action: string }) => (open = handler),
        on: (name: string, handler: (event: object) => void) => on.set(name, handler),
      },
    );
    expect(open?.()).toEqual({ action: 'deny' });
    const stopped = (name: string, event: object = {}) => {
      let prevented = false;
      on.get(name)?.({ ...event, preventDefault: () => (prevented = true) });
      return prevented;
    };
    expect(stopped('will-attach-webview')).toBe(true);
    expect(stopped('will-redirect')).toBe(true);
    expect(stopped('will-frame-navigate', { url: 'https://evil.example', isMainFrame: true })).toBe(true);
    expect(stopped('will-frame-navigate', { url: 'about:srcdoc', isMainFrame: false })).toBe(false);
  });

  it('asks before it closes a window that holds something unsaved', () => {
    const close = recorded.contents.get('will-prevent-unload') as unknown as (event: object) => void;
    const closes = (answer: string): boolean => {
      let goes = false;
      recorded.answer = recorded.asked[0]?.buttons.indexOf(answer) ?? 0;
      close({ preventDefault: () => (goes = true) });
      return goes;
    };
    expect(closes('Stay')).toBe(false);
    expect(recorded.asked[0]?.message).toMatch(/not saved/);
    expect(closes('Close without saving')).toBe(true);
    expect(closes('Stay')).toBe(false);
  });

  it('keeps the host until the last window is gone', async () => {
    expect(recorded.app.has('before-quit')).toBe(false);
    const quit = recorded.app.get('will-quit') as unknown as (event: object) => void;
    let held = 0;
    const event = { preventDefault: () => held++ };
    quit(event);
    expect(held).toBe(1);
    await vi.waitUntil(() => recorded.hostClosed === 1);
    await Promise.resolve();
    quit(event);
    expect(held).toBe(1);
  });

  it('gives the page two functions and nothing of Electron', async () => {
    await import('../../electron/preload.ts');
    const api = recorded.exposed.get('daybookHost');
    expect(Object.keys(api ?? {})).toEqual(['call', 'on']);
    expect([...recorded.exposed.keys()]).toEqual(['daybookHost']);
    const call = api?.['call'] as unknown as (name: string, input: object) => Promise<unknown>;
    expect(await call('app.info', {})).toEqual({ ok: true, value: 7 });
    expect(recorded.sent).toEqual([['daybook:call', 'app.info', {}]]);
    notRun('Electron’s own window', 'main and preload ran against a double of Electron in this test');
  });
});

import { BrowserWindow, app, dialog, ipcMain, protocol, session, shell } from 'electron';
import { Refusal } from '../shared/index.ts';
import { openHost } from './host/host.ts';
import type { Host } from './host/host.ts';
import {
  collectionFolder,
  demoFolder,
  preloadFile,
  programVersion,
  rendererFolder,
  workerFile,
} from './paths.ts';
import { hardenSession, servePages } from './shell/pages.ts';
import { electronPdfPrinter } from './shell/print.ts';
import { SCHEME, START_PAGE, isTrustedSender, mayNavigate } from './shell/rules.ts';

/** The Electron shell: one window on the same host that the browser window has, and as little else as possible. */
const EXIT_IN_USE = 3;

app.enableSandbox();
// The program asks nobody for anything; these are the browser's own habits.
app.commandLine.appendSwitch('disable-background-networking');
app.commandLine.appendSwitch('disable-component-update');
protocol.registerSchemesAsPrivileged([
  { scheme: SCHEME, privileges: { standard: true, secure: true, supportFetchAPI: true } },
]);

app.on('web-contents-created', (_event, contents) => {
  contents.setWindowOpenHandler(() => ({ action: 'deny' }));
  contents.on('will-attach-webview', (event) => event.preventDefault());
  contents.on('will-redirect', (event) => event.preventDefault());
  contents.on('will-frame-navigate', (event) => {
    if (!mayNavigate(event.url, event.isMainFrame)) event.preventDefault();
  });
});

function openWindow(): BrowserWindow {
  const window = new BrowserWindow({
    width: 1280,
    height: 860,
    minWidth: 640,
    minHeight: 480,
    title: 'Stylus Daybook',
    autoHideMenuBar: true,
    webPreferences: {
      preload: preloadFile,
      partition: 'persist:daybook',
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      webSecurity: true,
      // Its dictionaries would be fetched from a server.
      spellcheck: false,
    },
  });
  // A page that holds something unsaved refuses to go; left to itself the window would just stay, without a word.
  window.webContents.on('will-prevent-unload', (event) => {
    if (dialog.showMessageBoxSync(window, LEAVE_UNSAVED) === LEAVE) event.preventDefault();
  });
  void window.loadURL(START_PAGE);
  return window;
}

const LEAVE = 1;
const LEAVE_UNSAVED = {
  type: 'question' as const,
  title: 'Stylus Daybook',
  message: 'Something in this window is not saved.',
  detail: 'If you close it now, what you typed or drew since is lost. Everything else is safe.',
  buttons: ['Stay', 'Close without saving'],
  defaultId: 0,
  cancelId: 0,
  noLink: true,
};

function connect(host: Host): void {
  ipcMain.handle('daybook:call', (event, name: unknown, input: unknown) =>
    isTrustedSender(event.senderFrame)
      ? host.call(String(name), input)
      : { ok: false, error: { code: 'not-let-in', message: 'Other pages are not let in.' } },
  );
  host.listen((name, event) => {
    for (const window of BrowserWindow.getAllWindows())
      if (isTrustedSender(window.webContents.mainFrame))
        window.webContents.send('daybook:event', name, event);
  });
}

function closeBeforeQuitting(host: Host): void {
  let closed = false;
  // Not before the windows are closed: somebody may stay in one that holds something unsaved.
  app.on('will-quit', (event) => {
    if (closed) return;
    event.preventDefault();
    void host.close().finally(() => {
      closed = true;
      app.quit();
    });
  });
}

async function run(): Promise<void> {
  await app.whenReady();
  const host = await openHost({
    folder: collectionFolder(),
    who: 'the Stylus Daybook window',
    shell: 'electron',
    version: programVersion(),
    workerFile,
    printPdf: electronPdfPrinter,
    demoFolder: demoFolder(),
    showFolder: async (path) => {
      const wrong = await shell.openPath(path);
      if (wrong !== '') throw new Refusal('no-file-manager', `The folder could not be shown. It is ${path}`);
    },
  });
  closeBeforeQuitting(host);
  const own = session.fromPartition('persist:daybook');
  hardenSession(own);
  servePages(own, rendererFolder);
  connect(host);
  await host.start();
  openWindow();
  app.on('second-instance', () => BrowserWindow.getAllWindows()[0]?.focus());
  app.on('activate', () => {
    if (BrowserWindow.getAllWindows().length === 0) openWindow();
  });
  app.on('window-all-closed', () => app.quit());
}

function giveUp(error: unknown): void {
  const message = error instanceof Refusal ? error.message : 'Something went wrong at the start.';
  process.stderr.write(`${error instanceof Error ? (error.stack ?? message) : message}\n`);
  if (process.env['DAYBOOK_NO_WINDOW'] !== '1') dialog.showErrorBox('Stylus Daybook', message);
  app.exit(error instanceof Refusal && error.code === 'collection-in-use' ? EXIT_IN_USE : 1);
}

// Electron's own lock covers one user's Electron windows; the lock inside the collection covers everything else.
if (app.requestSingleInstanceLock()) run().catch(giveUp);
else app.quit();

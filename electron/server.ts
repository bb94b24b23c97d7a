import { randomBytes } from 'node:crypto';
import { folderOpener } from './browser/folder.ts';
import { hasDisplay } from './launch/electron.ts';
import type { PdfPrinter } from './host/context.ts';
import type { Host } from './host/host.ts';
import { holdFolder } from './host/store/hold.ts';
import type { Hold } from './host/store/hold.ts';
import { startLoopback } from './loopback/server.ts';
import type { Loopback } from './loopback/server.ts';
import { collectionFolder, demoFolder, programVersion, rendererFolder, workerFile } from './paths.ts';

/** Remembered by browsers together with the camera's permission; unassigned, below the range of passing ports. */
const PREFERRED_PORT = 28_447;

export type RunningServer = {
  readonly url: string;
  readonly collectionFolder: string;
  close(): Promise<void>;
};

function portFrom(env: NodeJS.ProcessEnv): number {
  const given = env['DAYBOOK_PORT'];
  if (given === undefined || given === '') return PREFERRED_PORT;
  const port = Number(given);
  if (!Number.isInteger(port) || port < 0 || port > 65_535)
    throw new Error(`DAYBOOK_PORT wants a port number, not "${given}".`);
  return port;
}

async function openOn(hold: Hold, printPdf: PdfPrinter | null, env: NodeJS.ProcessEnv): Promise<Host> {
  const { openHostOn } = await import('./host/host.ts');
  const host = await openHostOn(hold, {
    shell: 'loopback',
    version: programVersion(),
    workerFile,
    printPdf,
    demoFolder: demoFolder(),
    showFolder: folderOpener(hasDisplay(env)),
  });
  try {
    // Before anything is answered, so that the first page of a first run is not an empty one.
    await host.start();
    return host;
  } catch (error) {
    await host.close();
    throw error;
  }
}

/**
 * The browser window's machine side: the host behind a server on the loopback address. `onAddress` hears the address as soon
 * as the collection's folder is ours; the host is loaded and the collection opened while a browser starts, and what its
 * page asks meanwhile waits. Rejects when somebody else holds the folder, and then no address was given out.
 */
export async function startServer(
  printPdf: PdfPrinter | null,
  env: NodeJS.ProcessEnv = process.env,
  onAddress: (url: string) => void = () => undefined,
): Promise<RunningServer> {
  const port = portFrom(env);
  const hold = await holdFolder(collectionFolder(env), 'a Stylus Daybook browser window');
  let begin = (): void => undefined;
  const opening = new Promise<void>((done) => (begin = done)).then(() => openOn(hold, printPdf, env));
  // Told to whoever asks, below and in the window.
  opening.catch(() => undefined);
  const token = randomBytes(32).toString('base64url');
  let loopback: Loopback;
  try {
    loopback = await startLoopback({ host: opening, rendererFolder, token, preferredPort: port });
  } catch (error) {
    hold.release();
    throw error;
  }
  try {
    begin();
    // Loading begins only when this has returned: the browser goes first.
    onAddress(loopback.url);
    const host = await opening;
    const close = async () => {
      await loopback.close();
      await host.close();
    };
    return { url: loopback.url, collectionFolder: host.collectionFolder, close };
  } catch (error) {
    await loopback.close();
    // A window that could not be started leaves an open collection behind.
    await opening.then(
      (host) => host.close(),
      () => undefined,
    );
    throw error;
  }
}

import { randomBytes } from 'node:crypto';
import { folderOpener } from './browser/folder.ts';
import { hasDisplay } from './launch/electron.ts';
import { openHost } from './host/host.ts';
import type { PdfPrinter } from './host/context.ts';
import { startLoopback } from './loopback/server.ts';
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

/** The browser window's machine side: the host behind a server on the loopback address. */
export async function startServer(
  printPdf: PdfPrinter | null,
  env: NodeJS.ProcessEnv = process.env,
): Promise<RunningServer> {
  const host = await openHost({
    folder: collectionFolder(env),
    who: 'a Stylus Daybook browser window',
    shell: 'loopback',
    version: programVersion(),
    workerFile,
    printPdf,
    demoFolder: demoFolder(),
    showFolder: folderOpener(hasDisplay(env)),
  });
  try {
    // Before the address is given out, so that the first page of a first run is not an empty one.
    await host.start();
    const token = randomBytes(32).toString('base64url');
    const loopback = await startLoopback({ host, rendererFolder, token, preferredPort: portFrom(env) });
    const close = async () => {
      await loopback.close();
      await host.close();
    };
    return { url: loopback.url, collectionFolder: host.collectionFolder, close };
  } catch (error) {
    await host.close();
    throw error;
  }
}

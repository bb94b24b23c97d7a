import type { Session } from 'electron';
import { serveFile } from '../loopback/files.ts';
import { SECURITY_HEADERS } from '../loopback/headers.ts';
import { SCHEME, isOwnPage, mayLoad, mayUse } from './rules.ts';

const notHere = (status: number): Response =>
  new Response('There is nothing here.\n', { status, headers: { ...SECURITY_HEADERS } });

/** The window's files over a scheme of our own: file:// could reach every file of the machine. */
export async function answerPage(rendererFolder: string, request: Request): Promise<Response> {
  if (request.method !== 'GET') return notHere(405);
  if (!isOwnPage(request.url)) return notHere(404);
  const file = await serveFile(rendererFolder, new URL(request.url).pathname);
  if (file === null) return notHere(404);
  const body = new Uint8Array(file.bytes);
  return new Response(body, { headers: { ...SECURITY_HEADERS, 'Content-Type': file.type } });
}

/** Closes a session to everything but our own pages and the camera's picture. */
export function hardenSession(session: Session): void {
  session.setPermissionRequestHandler((_contents, permission, answer, details) => {
    const mediaTypes = 'mediaTypes' in details ? (details.mediaTypes ?? []) : [];
    answer(mayUse(permission, { url: details.requestingUrl, isMainFrame: details.isMainFrame, mediaTypes }));
  });
  session.setPermissionCheckHandler((_contents, permission, origin, details) =>
    mayUse(permission, {
      url: details.requestingUrl ?? origin,
      isMainFrame: details.isMainFrame,
      mediaTypes: details.mediaType === undefined ? [] : [details.mediaType],
    }),
  );
  session.setDevicePermissionHandler(() => false);
  session.webRequest.onBeforeRequest((details, answer) => answer({ cancel: !mayLoad(details.url) }));
  session.on('will-download', (event, item) => {
    // A file that the window itself made (a PDF, an export) may be saved; nothing may be fetched.
    if (!item.getURL().startsWith('blob:')) event.preventDefault();
  });
}

export function servePages(session: Session, rendererFolder: string): void {
  session.protocol.handle(SCHEME, (request) => answerPage(rendererFolder, request));
}

import { createServer } from 'node:http';
import type { IncomingMessage, Server, ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Host } from '../host/host.ts';
import { answerCall, streamEvents } from './api.ts';
import { serveFile } from './files.ts';
import { checkHost, checkOrigin, checkToken } from './guard.ts';
import type { Verdict } from './guard.ts';
import { SECURITY_HEADERS } from './headers.ts';

export type LoopbackOptions = {
  /** Calls wait for one that is still being opened. */
  readonly host: Host | Promise<Host>;
  readonly rendererFolder: string;
  /** 256 random bits, new at every start. */
  readonly token: string;
  /** Tried first, so that the browser remembers the camera's permission; 0 or a taken port: any free one. */
  readonly preferredPort: number;
};
export type Loopback = { readonly port: number; readonly url: string; close(): Promise<void> };

function listen(server: Server, port: number): Promise<void> {
  return new Promise((done, fail) => {
    server.once('error', fail);
    // The loopback address itself, never a name and never all addresses.
    server.listen({ host: '127.0.0.1', port, exclusive: true }, () => {
      server.off('error', fail);
      done();
    });
  });
}

async function listenSomewhere(server: Server, preferred: number): Promise<void> {
  try {
    await listen(server, preferred);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (preferred === 0 || (code !== 'EADDRINUSE' && code !== 'EACCES')) throw error;
    await listen(server, 0);
  }
}

/** Connections on which something was refused; what was sent behind it is not looked at. */
const ended = new WeakSet<object>();

function refuseRequest(response: ServerResponse, { status, reason }: NonNullable<Verdict>): void {
  if (response.socket) ended.add(response.socket);
  // Whatever was still being sent is not read.
  response.writeHead(status, { 'Content-Type': 'text/plain; charset=utf-8', Connection: 'close' });
  response.end(`${reason}\n`);
}

async function handle(
  request: IncomingMessage,
  response: ServerResponse,
  port: number,
  options: LoopbackOptions,
): Promise<void> {
  if (ended.has(request.socket)) return undefined;
  for (const [name, value] of Object.entries(SECURITY_HEADERS)) response.setHeader(name, value);
  const stopped = checkHost(request, port) ?? checkOrigin(request, port);
  if (stopped) return refuseRequest(response, stopped);
  const path = (request.url ?? '').split('?')[0] ?? '';
  if (path.startsWith('/api/')) {
    if (request.method !== 'POST') return refuseRequest(response, { status: 405, reason: 'POST only.' });
    const unknown = checkToken(request, options.token);
    if (unknown) return refuseRequest(response, unknown);
    const name = path.slice('/api/'.length);
    const host = await options.host;
    return name === 'events'
      ? streamEvents(host, request, response)
      : answerCall(host, name, request, response);
  }
  if (request.method !== 'GET' && request.method !== 'HEAD')
    return refuseRequest(response, { status: 405, reason: 'GET only.' });
  const file = await serveFile(options.rendererFolder, path);
  if (file === null) return refuseRequest(response, { status: 404, reason: 'There is nothing here.' });
  response.writeHead(200, { 'Content-Type': file.type, 'Content-Length': file.bytes.byteLength });
  response.end(request.method === 'HEAD' ? undefined : file.bytes);
}

export async function startLoopback(options: LoopbackOptions): Promise<Loopback> {
  let port = -1;
  const server = createServer({ maxHeaderSize: 16_384, headersTimeout: 10_000 }, (request, response) => {
    handle(request, response, port, options).catch((error: unknown) => {
      process.stderr.write(`loopback: ${error instanceof Error ? error.message : String(error)}\n`);
      if (response.headersSent) response.destroy();
      else refuseRequest(response, { status: 500, reason: 'Something in the program went wrong.' });
    });
  });
  server.maxConnections = 64;
  server.on('upgrade', (_request, socket) => socket.destroy());
  await listenSomewhere(server, options.preferredPort);
  port = (server.address() as AddressInfo).port;
  return {
    port,
    url: `http://127.0.0.1:${port}/#token=${options.token}`,
    close: () =>
      new Promise((done) => {
        server.close(() => done());
        server.closeAllConnections();
      }),
  };
}

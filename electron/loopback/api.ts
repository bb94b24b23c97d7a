import type { IncomingMessage, ServerResponse } from 'node:http';
import { MAX_UPLOAD_BYTES, decodeMessage, encodeMessage } from '../../shared/index.ts';
import type { HostReply } from '../../shared/index.ts';
import type { Host } from '../host/host.ts';

const CONTENT_TYPE = 'application/octet-stream';
/** A picture and what is said about it. */
const MAX_BODY_BYTES = MAX_UPLOAD_BYTES + 1_000_000;
const HEARTBEAT_MS = 15_000;

const notRead = (code: string, message: string): HostReply => ({ ok: false, error: { code, message } });

function send(response: ServerResponse, status: number, reply: HostReply): void {
  const body = encodeMessage(reply);
  response.writeHead(status, { 'Content-Type': CONTENT_TYPE, 'Content-Length': body.byteLength });
  response.end(body);
}

/** The whole body, or null when it is larger than anything that is ever sent. */
async function readBody(request: IncomingMessage): Promise<Uint8Array | null> {
  if (Number(request.headers['content-length'] ?? 0) > MAX_BODY_BYTES) return null;
  const parts: Buffer[] = [];
  let length = 0;
  for await (const part of request as AsyncIterable<Buffer>) {
    length += part.byteLength;
    if (length > MAX_BODY_BYTES) return null;
    parts.push(part);
  }
  // A plain array: slices of a Buffer share its memory and turn into something else on their way through JSON.
  return new Uint8Array(Buffer.concat(parts));
}

export async function answerCall(
  host: Host,
  name: string,
  request: IncomingMessage,
  response: ServerResponse,
): Promise<void> {
  // A type that no form can send: a foreign page would need a permission (CORS) that is never given.
  if (request.headers['content-type'] !== CONTENT_TYPE)
    return send(response, 415, notRead('bad-input', `Messages are ${CONTENT_TYPE}.`));
  const body = await readBody(request);
  if (body === null) {
    response.setHeader('Connection', 'close');
    return send(response, 413, notRead('bad-input', 'That is more than can be taken in at once.'));
  }
  let input: unknown;
  try {
    input = decodeMessage(body);
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    return send(response, 400, notRead('bad-input', `The message cannot be read (${why}).`));
  }
  send(response, 200, await host.call(name, input));
}

/** One JSON object a line, {name, event}; an empty line now and then keeps the connection from looking dead. */
export async function streamEvents(
  host: Host,
  request: IncomingMessage,
  response: ServerResponse,
): Promise<void> {
  request.resume();
  response.writeHead(200, { 'Content-Type': 'application/x-ndjson' });
  response.write('\n');
  const stop = host.listen((name, event) => response.write(`${JSON.stringify({ name, event })}\n`));
  const heartbeat = setInterval(() => response.write('\n'), HEARTBEAT_MS);
  await new Promise<void>((done) => response.once('close', done));
  clearInterval(heartbeat);
  stop();
}

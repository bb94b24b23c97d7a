import { mkdirSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { join } from 'node:path';
import { beforeEach, describe, expect, it, onTestFinished, vi } from 'vitest';
import { startLoopback, type Loopback } from '../../../electron/loopback/server.ts';
import { CONTENT_SECURITY_POLICY, SECURITY_HEADERS } from '../../../electron/loopback/headers.ts';
import { startServer } from '../../../electron/server.ts';
import type { Host } from '../../../electron/host/host.ts';
import { encodeMessage } from '../../../shared/index.ts';
import { temporaryFolder } from '../support.ts';

/** Paths count from the built program; here it is not built. */
vi.mock('../../../electron/paths.ts', async (original) => ({
  ...(await original<Record<string, unknown>>()),
  programVersion: () => '0',
  demoFolder: () => null,
}));

/** What no browser would send, byte by byte: preflights, smuggled requests, upgrades, other methods, floods. */
const TOKEN = 'k'.repeat(43);
let loopback: Loopback;
let calls: string[];

const host: Host = {
  collectionFolder: '',
  call: async (name) => {
    calls.push(name);
    return { ok: true, value: {} };
  },
  listen: () => () => true,
  start: async () => undefined,
  close: async () => undefined,
};

beforeEach(async () => {
  calls = [];
  const rendererFolder = join(temporaryFolder(), 'renderer');
  mkdirSync(rendererFolder);
  writeFileSync(join(rendererFolder, 'index.html'), '<!doctype html><title>x</title>');
  loopback = await startLoopback({ host, rendererFolder, token: TOKEN, preferredPort: 0 });
  onTestFinished(() => loopback.close());
});

/** Everything that comes back until the other side closes, or until `waitMs` have gone by without that. */
function raw(
  parts: readonly (string | Uint8Array)[],
  waitMs = 5_000,
): Promise<{ text: string; closed: boolean }> {
  return new Promise((done) => {
    const socket = connect(loopback.port, '127.0.0.1');
    let text = '';
    const settle = (closed: boolean) => {
      clearTimeout(late);
      socket.destroy();
      done({ text, closed });
    };
    const late = setTimeout(() => settle(false), waitMs);
    socket.on('data', (chunk: Buffer) => (text += chunk.toString('latin1')));
    socket.on('error', () => settle(true));
    socket.on('close', () => settle(true));
    for (const part of parts) socket.write(typeof part === 'string' ? part.replaceAll('\n', '\r\n') : part);
  });
}

const own = (): string => `127.0.0.1:${loopback.port}`;
const statuses = (text: string): number[] =>
  [...text.matchAll(/^HTTP\/1\.1 (\d{3})/gm)].map((found) => Number(found[1]));
const body = encodeMessage({});
const BINARY = 'Content-Type: application/octet-stream\n';

describe('requests that no page of ours sends', () => {
  it('get no permission from a preflight', async () => {
    const { text } = await raw([
      `OPTIONS /api/app.info HTTP/1.1\nHost: ${own()}\nOrigin: http://evil.example\nAccess-Control-Request-Method: POST\nAccess-Control-Request-Headers: x-daybook-token\nConnection: close\n\n`,
    ]);
    expect(statuses(text)).toEqual([403]);
    expect(text).not.toMatch(/access-control-allow/i);
    expect(calls).toEqual([]);
  });

  it.each(['GET', 'HEAD', 'PUT', 'DELETE', 'PATCH', 'OPTIONS', 'TRACE'])(
    'do not call a function by %s',
    async (method) => {
      const { text } = await raw([
        `${method} /api/app.info HTTP/1.1\nHost: ${own()}\nX-Daybook-Token: ${TOKEN}\nConnection: close\n\n`,
      ]);
      expect(statuses(text)).toEqual([405]);
      expect(calls).toEqual([]);
    },
  );

  it.each(['POST', 'PUT', 'DELETE', 'OPTIONS', 'TRACE'])('do not get a page by %s', async (method) => {
    const { text } = await raw([`${method} / HTTP/1.1\nHost: ${own()}\nConnection: close\n\n`]);
    expect(statuses(text)).toEqual([405]);
    expect(text).not.toContain('<!doctype');
  });

  it('cannot turn the connection into another one or into a tunnel', async () => {
    const upgraded = await raw([
      `GET /api/events HTTP/1.1\nHost: ${own()}\nConnection: Upgrade\nUpgrade: websocket\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\nSec-WebSocket-Version: 13\n\n`,
    ]);
    expect(upgraded.closed).toBe(true);
    expect(statuses(upgraded.text)).not.toContain(101);
    const tunnel = await raw([`CONNECT evil.example:443 HTTP/1.1\nHost: evil.example:443\n\n`]);
    expect(statuses(tunnel.text)).not.toContain(200);
    expect(tunnel.closed).toBe(true);
  });

  it('cannot smuggle a second one behind two lengths', async () => {
    const hidden = `POST /api/demo.remove HTTP/1.1\nHost: ${own()}\nX-Daybook-Token: ${TOKEN}\n${BINARY}Content-Length: ${body.byteLength}\n\n`;
    const { text } = await raw([
      `POST /api/app.info HTTP/1.1\nHost: ${own()}\nX-Daybook-Token: ${TOKEN}\n${BINARY}Content-Length: 4\nTransfer-Encoding: chunked\n\n0\n\n${hidden}`,
      body,
    ]);
    expect(statuses(text)[0]).toBe(400);
    expect(calls).toEqual([]);
  });

  it('do not reach a function over a connection on which one was refused', async () => {
    const { text, closed } = await raw([
      `GET / HTTP/1.1\nHost: evil.example\n\n`,
      `POST /api/app.info HTTP/1.1\nHost: ${own()}\nX-Daybook-Token: ${TOKEN}\n${BINARY}Content-Length: ${body.byteLength}\n\n`,
      body,
    ]);
    expect(statuses(text)).toEqual([403]);
    expect(closed).toBe(true);
    expect(calls).toEqual([]);
  });

  it.each([
    ['in the address', (): string => `/api/app.info?token=${TOKEN}`, ''],
    ['in a cookie', (): string => '/api/app.info', `Cookie: token=${TOKEN}\n`],
    ['as an authorisation', (): string => '/api/app.info', `Authorization: Bearer ${TOKEN}\n`],
  ])('are not let in with the key %s', async (_name, path, line) => {
    const { text } = await raw([
      `POST ${path()} HTTP/1.1\nHost: ${own()}\n${line}${BINARY}Connection: close\nContent-Length: ${body.byteLength}\n\n`,
      body,
    ]);
    expect(statuses(text)).toEqual([401]);
    expect(calls).toEqual([]);
  });

  it('do not bring a form’s or a script’s ordinary content', async () => {
    for (const type of [
      'text/plain',
      'application/x-www-form-urlencoded',
      'multipart/form-data',
      'application/json',
    ]) {
      const { text } = await raw([
        `POST /api/app.info HTTP/1.1\nHost: ${own()}\nX-Daybook-Token: ${TOKEN}\nContent-Type: ${type}\nConnection: close\nContent-Length: ${body.byteLength}\n\n`,
        body,
      ]);
      expect(statuses(text), type).toEqual([415]);
    }
    expect(calls).toEqual([]);
  });

  it('of old kinds, without a Host, or of nonsense are refused', async () => {
    for (const text of [
      'GET / HTTP/1.0\n\n',
      'GET / HTTP/1.1\nConnection: close\n\n',
      'hello\n\n',
      '\u0016\u0003\u0001\n\n',
    ]) {
      const answer = await raw([text]);
      expect(statuses(answer.text).filter((status) => status < 400)).toEqual([]);
      expect(answer.text).not.toContain('<!doctype');
    }
  });

  it('with a head that does not end are cut off', async () => {
    const { text, closed } = await raw([
      `GET / HTTP/1.1\nHost: ${own()}\n${`X-Long: ${'a'.repeat(900)}\n`.repeat(40)}`,
    ]);
    expect(closed).toBe(true);
    expect(statuses(text)).toEqual([431]);
  });

  it('that hold the line without saying anything do not keep others out', async () => {
    const idle = Array.from({ length: 30 }, () => connect(loopback.port, '127.0.0.1'));
    const { text } = await raw([`GET / HTTP/1.1\nHost: ${own()}\nConnection: close\n\n`]);
    expect(statuses(text)).toEqual([200]);
    for (const socket of idle) socket.destroy();
  });
});

describe('every answer', () => {
  it('carries all closing headers, a refusal too', async () => {
    for (const request of [
      `GET / HTTP/1.1\nHost: ${own()}\nConnection: close\n\n`,
      `GET /none HTTP/1.1\nHost: ${own()}\nConnection: close\n\n`,
      `GET / HTTP/1.1\nHost: evil.example\nConnection: close\n\n`,
      `POST /api/app.info HTTP/1.1\nHost: ${own()}\nConnection: close\nContent-Length: 0\n\n`,
    ]) {
      const { text } = await raw([request]);
      for (const [name, value] of Object.entries(SECURITY_HEADERS))
        expect(text).toContain(`${name}: ${value}`);
      expect(text).not.toMatch(/^(set-cookie|access-control|server|x-powered-by)/im);
    }
  });

  it('lets pages do nothing but what they need', () => {
    expect(CONTENT_SECURITY_POLICY).not.toMatch(/unsafe-eval|https?:|\*/);
    expect(CONTENT_SECURITY_POLICY).toContain("frame-ancestors 'none'");
    expect(SECURITY_HEADERS['Permissions-Policy']).toContain('camera=(self)');
    expect(SECURITY_HEADERS['Permissions-Policy']).toContain('microphone=()');
  });
});

describe('the key', () => {
  it('is new at every start, of 128 bits or more, and stands in the fragment only', async () => {
    const keys: string[] = [];
    for (let i = 0; i < 3; i++) {
      const env = { DAYBOOK_COLLECTION: temporaryFolder(), DAYBOOK_PORT: '0' };
      const server = await startServer(null, env);
      onTestFinished(() => server.close());
      const url = new URL(server.url);
      expect(url.search).toBe('');
      const key = new URLSearchParams(url.hash.slice(1)).get('token') ?? '';
      expect(Buffer.from(key, 'base64url').byteLength * 8).toBeGreaterThanOrEqual(128);
      keys.push(key);
    }
    expect(new Set(keys).size).toBe(3);
  }, 60_000);
});

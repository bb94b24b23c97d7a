import { mkdirSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { networkInterfaces } from 'node:os';
import { join } from 'node:path';
import { beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { fileFor } from '../../../electron/loopback/files.ts';
import { startLoopback, type Loopback } from '../../../electron/loopback/server.ts';
import type { Host, HostListener } from '../../../electron/host/host.ts';
import { decodeMessage, encodeMessage, type HostReply } from '../../../shared/index.ts';
import { temporaryFolder } from '../support.ts';

/** Raw sockets, so that nothing adds or corrects a header on the way. */
const TOKEN = 'k'.repeat(43);
let loopback: Loopback;
let calls: [name: string, input: unknown][];
let listeners: Set<HostListener>;

const host: Host = {
  collectionFolder: '',
  call: async (name, input) => {
    calls.push([name, input]);
    return { ok: true, value: { name, input } };
  },
  listen: (listener) => {
    listeners.add(listener);
    return () => listeners.delete(listener);
  },
  start: async () => undefined,
  close: async () => undefined,
};

beforeEach(async () => {
  calls = [];
  listeners = new Set();
  const rendererFolder = join(temporaryFolder(), 'renderer');
  mkdirSync(join(rendererFolder, 'assets'), { recursive: true });
  writeFileSync(join(rendererFolder, 'index.html'), '<!doctype html><title>x</title>');
  writeFileSync(join(rendererFolder, 'assets', 'a.js'), 'export {};');
  writeFileSync(join(rendererFolder, '..', 'secret.txt'), 'secret');
  loopback = await startLoopback({ host, rendererFolder, token: TOKEN, preferredPort: 0 });
  onTestFinished(() => loopback.close());
});

type Answer = { status: number; head: string; body: Buffer };

function raw(text: string, body: Uint8Array = new Uint8Array()): Promise<Answer> {
  return new Promise((done, fail) => {
    const socket = connect(loopback.port, '127.0.0.1');
    const parts: Buffer[] = [];
    socket.on('data', (part: Buffer) => parts.push(part));
    socket.on('error', fail);
    socket.on('close', () => {
      const all = Buffer.concat(parts);
      const end = all.indexOf('\r\n\r\n');
      const head = all.subarray(0, end).toString('latin1');
      done({ status: Number(head.split(' ')[1]), head, body: all.subarray(end + 4) });
    });
    socket.write(text.replaceAll('\n', '\r\n'));
    socket.write(body);
  });
}

const own = () => `127.0.0.1:${loopback.port}`;
const get = (path: string, headers = '', host = own()) =>
  raw(`GET ${path} HTTP/1.1\nHost: ${host}\nConnection: close\n${headers}\n`);

function post(
  path: string,
  options: { token?: string | null; headers?: string; body?: Uint8Array; type?: string; host?: string } = {},
) {
  const {
    token = TOKEN,
    headers = '',
    body = encodeMessage({}),
    type = 'application/octet-stream',
  } = options;
  const key = token === null ? '' : `X-Daybook-Token: ${token}\n`;
  const length = `Content-Type: ${type}\nContent-Length: ${body.byteLength}\n`;
  return raw(
    `POST ${path} HTTP/1.1\nHost: ${options.host ?? own()}\nConnection: close\n${key}${length}${headers}\n`,
    body,
  );
}

describe('who is let in', () => {
  it('answers its own page with everything closed that can be closed', async () => {
    const { status, head } = await get('/');
    expect(status).toBe(200);
    for (const wanted of [
      "frame-ancestors 'none'",
      "default-src 'none'",
      "script-src 'self'",
      'X-Content-Type-Options: nosniff',
      'Cross-Origin-Resource-Policy: same-origin',
      'Cross-Origin-Opener-Policy: same-origin',
      'Referrer-Policy: no-referrer',
      'microphone=()',
    ])
      expect(head).toContain(wanted);
    expect(head).not.toMatch(/access-control|set-cookie|unsafe-eval/i);
    expect(head).not.toMatch(/script-src[^;]*unsafe-inline/);
  });

  it.each([
    'evil.example',
    'localhost',
    '127.0.0.1',
    '127.0.0.1:1',
    '[::1]',
    'localhost:PORT',
    '127.0.0.1.evil.example:PORT',
    '',
  ])('refuses the Host "%s", pages and functions alike, before anything else', async (name) => {
    const host = name.replace('PORT', String(loopback.port));
    expect((await get('/', '', host)).status).not.toBe(200);
    expect((await post('/api/app.info', { host })).status).not.toBe(200);
    expect(calls).toEqual([]);
  });

  it('refuses two Host lines and an absolute address of another host', async () => {
    expect((await get('/', `Host: ${own()}\n`)).status).toBeGreaterThanOrEqual(400);
    const absolute = await raw(
      `GET http://evil.example/ HTTP/1.1\nHost: evil.example\nConnection: close\n\n`,
    );
    expect(absolute.status).toBe(403);
  });

  it.each([
    ['no key', { token: null }],
    ['an empty key', { token: '' }],
    ['a wrong key', { token: 'x'.repeat(43) }],
    ['a shorter key', { token: TOKEN.slice(1) }],
    ['two keys', { headers: `X-Daybook-Token: ${TOKEN}\n` }],
  ])('refuses %s', async (_name, options) => {
    expect((await post('/api/app.info', options)).status).toBe(401);
    expect((await post('/api/events', options)).status).toBe(401);
    expect(calls).toEqual([]);
  });

  it.each([
    'Origin: http://evil.example\n',
    'Origin: null\n',
    'Origin: http://localhost:PORT\n',
    'Origin: https://127.0.0.1:PORT\n',
    'Sec-Fetch-Site: cross-site\n',
    'Sec-Fetch-Site: same-site\n',
  ])('refuses functions to other pages: %s', async (line) => {
    const headers = line.replace('PORT', String(loopback.port));
    expect((await post('/api/app.info', { headers })).status).toBe(403);
    expect(calls).toEqual([]);
  });

  it('never gives the permission that a foreign page would need', async () => {
    const asked = await raw(
      `OPTIONS /api/app.info HTTP/1.1\nHost: ${own()}\nOrigin: http://evil.example\nAccess-Control-Request-Method: POST\nConnection: close\n\n`,
    );
    expect(asked.status).toBe(403);
    expect(asked.head).not.toMatch(/access-control-allow/i);
  });

  it('does not answer GET, forms or other types of message', async () => {
    expect((await get('/api/app.info', `X-Daybook-Token: ${TOKEN}\n`)).status).toBe(405);
    expect((await post('/api/app.info', { type: 'text/plain' })).status).toBe(415);
    expect((await post('/api/app.info', { type: 'application/x-www-form-urlencoded' })).status).toBe(415);
    expect(calls).toEqual([]);
  });

  it('listens on the loopback address alone', async () => {
    const others = Object.values(networkInterfaces())
      .flat()
      .filter((found) => found !== undefined && found.family === 'IPv4' && !found.internal)
      .map((found) => found!.address);
    // 127.0.0.2 is this machine too, on Linux: a server on all addresses would answer there.
    for (const address of ['127.0.0.2', ...others]) {
      const reached = await new Promise<boolean>((done) => {
        const socket = connect({ port: loopback.port, host: address, timeout: 2000 });
        socket.once('connect', () => done(true) === undefined && socket.destroy());
        socket.once('error', () => done(false));
        socket.once('timeout', () => done(false) === undefined && socket.destroy());
      });
      expect(reached, address).toBe(false);
    }
  });
});

describe('messages', () => {
  it('go through with their bytes', async () => {
    const body = encodeMessage({ fileName: 'a', bytes: new Uint8Array([1, 2, 3]) });
    const answer = await post('/api/picture.offer', { body });
    expect(answer.status).toBe(200);
    const reply = decodeMessage(new Uint8Array(answer.body)) as HostReply & {
      value: { input: { bytes: unknown } };
    };
    expect(reply.value.input.bytes).toEqual(new Uint8Array([1, 2, 3]));
    expect(calls).toHaveLength(1);
  });

  it.each([
    ['nothing', new Uint8Array()],
    ['a lying head', new Uint8Array([255, 255, 255, 255, 1])],
    ['no JSON', new Uint8Array([2, 0, 0, 0, 0x7b, 0x7b])],
    ['bytes that are not there', encodeMessage({ $bytes: [0, 99] })],
  ])('that hold %s are refused with a sentence', async (_name, body) => {
    const answer = await post('/api/app.info', { body });
    expect(answer.status).toBe(400);
    expect(decodeMessage(new Uint8Array(answer.body))).toMatchObject({
      ok: false,
      error: { code: 'bad-input' },
    });
    expect(calls).toEqual([]);
  });

  it('larger than anything that is sent are not read', async () => {
    const answer = await raw(
      `POST /api/app.info HTTP/1.1\nHost: ${own()}\nX-Daybook-Token: ${TOKEN}\nContent-Type: application/octet-stream\nContent-Length: 999999999999\nConnection: close\n\n`,
    );
    expect(answer.status).toBe(413);
  });

  it('of events come as lines, and the listener goes with the connection', async () => {
    const socket = connect(loopback.port, '127.0.0.1');
    let heard = '';
    socket.on('data', (part: Buffer) => (heard += part.toString()));
    const body = encodeMessage({});
    socket.write(
      `POST /api/events HTTP/1.1\r\nHost: ${own()}\r\nX-Daybook-Token: ${TOKEN}\r\nContent-Type: application/octet-stream\r\nContent-Length: ${body.byteLength}\r\n\r\n`,
    );
    socket.write(body);
    await expect.poll(() => listeners.size).toBe(1);
    for (const listener of listeners) listener('changed', { stylusId: null });
    await expect.poll(() => heard).toContain('{"name":"changed","event":{"stylusId":null}}\n');
    socket.destroy();
    await expect.poll(() => listeners.size).toBe(0);
  });
});

describe('files', () => {
  it('come from the one folder with their type', async () => {
    const script = await get('/assets/a.js');
    expect(script.head).toContain('text/javascript');
    expect(script.body.toString()).toBe('export {};');
  });

  it.each([
    '/../secret.txt',
    '/%2e%2e/secret.txt',
    '/..%2fsecret.txt',
    '/assets/../../secret.txt',
    '//etc/passwd',
    '/%00',
    '/%zz',
    '/.git',
    '/assets',
    '/assets/..%5c..%5csecret.txt',
    '/index.html/',
  ])('stay inside: %s', async (path) => {
    const answer = await get(path);
    expect(answer.status).toBe(404);
    expect(answer.body.toString()).not.toContain('secret');
    expect(fileFor('/srv/window', path)?.startsWith('/srv/window/') ?? true).toBe(true);
  });
});

describe('a host that is still being opened', () => {
  it('lets calls wait, and files and refusals not', async () => {
    let open!: (host: Host) => void;
    const opening = new Promise<Host>((done) => (open = done));
    const rendererFolder = temporaryFolder();
    writeFileSync(join(rendererFolder, 'index.html'), '<!doctype html>');
    loopback = await startLoopback({ host: opening, rendererFolder, token: TOKEN, preferredPort: 0 });
    onTestFinished(() => loopback.close());
    let answered = false;
    const call = post('/api/stylus.list').finally(() => (answered = true));
    expect((await get('/')).status).toBe(200);
    expect((await post('/api/stylus.list', { token: 'x'.repeat(43) })).status).toBe(401);
    expect(answered).toBe(false);
    expect(calls).toEqual([]);
    open(host);
    expect((await call).status).toBe(200);
    expect(calls).toEqual([['stylus.list', {}]]);
  });

  it('answers a call with 500 when it cannot be opened', async () => {
    const opening = Promise.reject(new Error('not today'));
    opening.catch(() => undefined);
    loopback = await startLoopback({ host: opening, rendererFolder: '.', token: TOKEN, preferredPort: 0 });
    onTestFinished(() => loopback.close());
    expect((await post('/api/stylus.list')).status).toBe(500);
  });
});

describe('the port', () => {
  it('is the preferred one when it is free, else any', async () => {
    const other = await startLoopback({
      host,
      rendererFolder: '.',
      token: TOKEN,
      preferredPort: loopback.port,
    });
    expect(other.port).not.toBe(loopback.port);
    await other.close();
    const again = await startLoopback({ host, rendererFolder: '.', token: TOKEN, preferredPort: other.port });
    expect(again.port).toBe(other.port);
    await again.close();
  });

  it('is handed over with the key in the fragment, which no server ever sees', () => {
    expect(loopback.url).toBe(`http://127.0.0.1:${loopback.port}/#token=${TOKEN}`);
  });
});

import { spawn, type ChildProcess } from 'node:child_process';
import { join } from 'node:path';
import { beforeAll, expect, it } from 'vitest';
import { knownOriginals } from '../../electron/host/store/captures.ts';
import { openCollection } from '../../electron/host/store/collection.ts';
import {
  decodeMessage,
  encodeMessage,
  type HostReply,
  type InputOf,
  type MethodName,
} from '../../shared/index.ts';
import { DRAFT, FACTS, buildHost, picture, root, temporaryFolder } from '../electron/support.ts';

/**
 * The built program, killed without warning while it is kept busy. Whatever it had acknowledged must be there, whole.
 * DAYBOOK_KILLS=200 makes the long form.
 */
const KILLS = Number(process.env['DAYBOOK_KILLS'] ?? 5);

beforeAll(buildHost);

type Running = { child: ChildProcess; url: URL };

function start(folder: string): Promise<Running> {
  const script = `import(${JSON.stringify(new URL('dist/host/server.js', `file://${root}`).href)})
    .then((m) => m.startServer(null)).then((s) => console.log(s.url), (e) => { console.error(e); process.exit(1); })`;
  const env = { ...process.env, DAYBOOK_PORT: '0', DAYBOOK_COLLECTION: folder };
  const child = spawn(process.execPath, ['-e', script], {
    cwd: root,
    env,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  return new Promise((done, fail) => {
    let said = '';
    child.stderr.on('data', (part: Buffer) => (said += part.toString()));
    child.stdout.on('data', (part: Buffer) => done({ child, url: new URL(part.toString().trim()) }));
    child.once('exit', (code) => fail(new Error(`ended with ${code}: ${said}`)));
  });
}

async function ask<T>({ url }: Running, name: MethodName, input: InputOf<MethodName>): Promise<T> {
  const response = await fetch(`${url.origin}/api/${name}`, {
    method: 'POST',
    headers: {
      'x-daybook-token': url.hash.slice('#token='.length),
      'content-type': 'application/octet-stream',
    },
    body: encodeMessage(input) as BodyInit,
  });
  const reply = decodeMessage(new Uint8Array(await response.arrayBuffer())) as HostReply;
  if (!reply.ok) throw new Error(reply.error.message);
  return reply.value as T;
}

type Id = { id: string };
type Acknowledged = { captures: Map<string, string>; entries: Set<string>; stylusId: string };

/** Adds pictures and entries one after the other until the program is gone. */
async function keepBusy(program: Running, known: Acknowledged, onCapture: () => void): Promise<void> {
  for (let i = 0; ; i++) {
    const { stylusId } = known;
    const entry = { stylusId, kind: 'note', date: '2024-01-01', played: null, text: `${i}` } as const;
    known.entries.add((await ask<Id>(program, 'entry.add', entry)).id);
    const bytes = new Uint8Array(await picture(Math.floor(Math.random() * 200)));
    const offered = await ask<{ token: string; sha256: string }>(program, 'picture.offer', {
      fileName: 'a.png',
      bytes,
    });
    const facts = { ...FACTS, token: offered.token, stylusId };
    known.captures.set((await ask<Id>(program, 'capture.add', facts)).id, offered.sha256);
    onCapture();
  }
}

async function check(folder: string, known: Acknowledged): Promise<void> {
  const collection = await openCollection({ folder, who: 'a check' });
  const { db, originals } = collection;
  expect(db.all('PRAGMA integrity_check').map((row) => ({ ...row }))).toEqual([{ integrity_check: 'ok' }]);
  expect(db.all('PRAGMA foreign_key_check')).toEqual([]);
  for (const [sha256, mediaType] of knownOriginals(db))
    expect(await originals.isIntact(sha256, mediaType), sha256).toBe(true);
  const captures = new Map(db.all('SELECT id, sha256 FROM capture').map((row) => [row['id'], row['sha256']]));
  for (const [id, sha256] of known.captures) expect(captures.get(id)).toBe(sha256);
  const entries = new Set(db.all('SELECT id FROM entry').map((row) => row['id']));
  expect([...known.entries].filter((id) => !entries.has(id))).toEqual([]);
  collection.close();
}

it(
  `loses nothing that was acknowledged when it is killed ${KILLS} times`,
  async () => {
    const folder = join(temporaryFolder(), 'collection');
    const known: Acknowledged = { captures: new Map(), entries: new Set(), stylusId: '' };
    const first = await openCollection({ folder, who: 'a test' });
    // So that the demo, which is measured in the background, stays out of it.
    first.db.run("INSERT INTO setting VALUES ('demo-offered', 'no')");
    first.close();
    for (let kill = 0; kill < KILLS; kill++) {
      const program = await start(folder);
      if (known.stylusId === '') known.stylusId = (await ask<Id>(program, 'stylus.create', DRAFT)).id;
      const end = (ms: number) => void setTimeout(() => program.child.kill('SIGKILL'), Math.random() * ms);
      // Every third time at any moment, else once pictures are going in; in any case within seconds.
      if (kill % 3 === 2) end(1_000);
      setTimeout(() => program.child.kill('SIGKILL'), 10_000).unref();
      const busy = keepBusy(program, known, () => end(600)).catch(() => undefined);
      await new Promise((done) => program.child.once('exit', done));
      await busy;
      await check(folder, known);
    }
    expect(known.captures.size).toBeGreaterThan(0);
    expect(known.entries.size).toBeGreaterThan(0);
  },
  30_000 + KILLS * 15_000,
);

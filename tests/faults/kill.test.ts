import { spawn, type ChildProcess, type ChildProcessByStdio } from 'node:child_process';
import { readdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import type { Readable } from 'node:stream';
import { beforeAll, expect, it } from 'vitest';
import { verifyArchive } from '../../electron/host/keeping/unpack.ts';
import { openCollection } from '../../electron/host/store/collection.ts';
import { realDisk } from '../../electron/host/store/disk.ts';
import {
  decodeMessage,
  encodeMessage,
  type HostReply,
  type InputOf,
  type MethodName,
} from '../../shared/index.ts';
import { soundRows } from './works.ts';
import { DRAFT, FACTS, buildHost, picture, root, temporaryFolder } from '../electron/support.ts';

/**
 * The built program, killed without warning while it is kept busy: adding, putting away, emptying the bin, backing up,
 * taking a backup back, and opening after the last kill. Whatever it had acknowledged must be there, whole.
 * DAYBOOK_KILLS=200 makes the long form.
 */
const KILLS = Number(process.env['DAYBOOK_KILLS'] ?? 6);

beforeAll(buildHost);

type Running = { child: ChildProcess; url: URL };

/** Starts the program without waiting for it. */
function launch(folder: string): ChildProcessByStdio<null, Readable, Readable> {
  const script = `import(${JSON.stringify(new URL('dist/host/server.js', `file://${root}`).href)})
    .then((m) => m.startServer(null)).then((s) => console.log(s.url), (e) => { console.error(e); process.exit(1); })`;
  const env = { ...process.env, DAYBOOK_PORT: '0', DAYBOOK_COLLECTION: folder };
  return spawn(process.execPath, ['-e', script], { cwd: root, env, stdio: ['ignore', 'pipe', 'pipe'] });
}

function start(folder: string): Promise<Running> {
  const child = launch(folder);
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
/** What was acknowledged. `loose`: asked for when the program was killed, so either way is right. */
type Ledger = {
  readonly captures: ReadonlyMap<string, string>;
  readonly entries: ReadonlySet<string>;
  readonly loose: ReadonlySet<string>;
};
const EMPTY: Ledger = { captures: new Map(), entries: new Set(), loose: new Set() };

/** One program's life and what is known of the collection through all of them. */
type Known = {
  stylusId: string;
  ledger: Ledger;
  /** The newest backup and what had been acknowledged when it was asked for. */
  backup: { readonly path: string; readonly ledger: Ledger } | null;
  /** A restore that was asked for and not acknowledged. */
  pending: Ledger | null;
  readonly counts: Record<string, number>;
};

const count = (known: Known, what: string): void => {
  known.counts[what] = (known.counts[what] ?? 0) + 1;
};

async function addEntry(program: Running, known: Known, text: string): Promise<string> {
  const { stylusId, ledger } = known;
  const entry = { stylusId, kind: 'note', date: '2024-01-01', played: null, text } as const;
  const { id } = await ask<Id>(program, 'entry.add', entry);
  known.ledger = { ...ledger, entries: new Set([...ledger.entries, id]) };
  count(known, 'entries');
  return id;
}

async function addPicture(program: Running, known: Known): Promise<void> {
  const bytes = new Uint8Array(await picture(Math.floor(Math.random() * 200)));
  const offer = { fileName: 'a.png', bytes };
  const { token, sha256 } = await ask<{ token: string; sha256: string }>(program, 'picture.offer', offer);
  const { id } = await ask<Id>(program, 'capture.add', { ...FACTS, token, stylusId: known.stylusId });
  const { ledger } = known;
  known.ledger = { ...ledger, captures: new Map([...ledger.captures, [id, sha256]]) };
  count(known, 'pictures');
}

/** Puts an entry away and empties the bin: from then on it must be gone, until then it may be. */
async function destroyEntry(program: Running, known: Known, id: string): Promise<void> {
  const { ledger } = known;
  const entries = new Set([...ledger.entries].filter((one) => one !== id));
  // Before it is asked for: what lies in the bin unheard of is destroyed with whatever else the next emptying finds.
  known.ledger = { ...ledger, entries, loose: new Set([...ledger.loose, id]) };
  await ask(program, 'bin.put', { kind: 'entry', id });
  await ask(program, 'bin.empty', {});
  known.ledger = { ...known.ledger, loose: new Set() };
  count(known, 'bins emptied');
}

async function backUp(program: Running, known: Known): Promise<void> {
  const { ledger } = known;
  const { path } = await ask<{ path: string }>(program, 'keeping.backUp', { jobId: 'b' });
  known.backup = { path, ledger };
  count(known, 'backups');
}

async function restore(program: Running, known: Known): Promise<void> {
  if (known.backup === null) return;
  const { path, ledger } = known.backup;
  known.pending = ledger;
  await ask(program, 'keeping.restore', { path, jobId: 'r' });
  known.ledger = ledger;
  known.pending = null;
  count(known, 'restores');
}

/** One thing after the other until the program is gone. */
async function keepBusy(program: Running, known: Known, onCapture: () => void): Promise<void> {
  for (let i = 1; ; i++) {
    const id = await addEntry(program, known, `${i}`);
    await addPicture(program, known);
    onCapture();
    if (i % 2 === 0) await destroyEntry(program, known, id);
    if (i % 3 === 0 || known.backup === null) await backUp(program, known);
    if (i % 4 === 0) await restore(program, known);
  }
}

type Present = { captures: Map<unknown, unknown>; entries: Set<unknown> };

const fits = ({ captures, entries }: Ledger, present: Present): boolean =>
  [...captures].every(([id, sha256]) => present.captures.get(id) === sha256) &&
  [...entries].every((id) => present.entries.has(id));

/** Whole and tidy; holds what was acknowledged, before or after a restore that nobody heard the end of. */
async function check(folder: string, known: Known): Promise<void> {
  const rows = await soundRows(folder);
  const list = (name: string) => (rows[name] ?? []) as { id: string; sha256?: string }[];
  const present: Present = {
    captures: new Map(list('capture').map((row) => [row.id, row.sha256])),
    entries: new Set(list('entry').map((row) => row.id)),
  };
  const { pending } = known;
  known.pending = null;
  if (pending !== null && !fits(known.ledger, present)) {
    known.ledger = pending;
    count(known, 'restores finished after the kill');
  }
  expect(fits(known.ledger, present), JSON.stringify(known.counts)).toBe(true);
  known.ledger = { ...known.ledger, loose: new Set() };
  const backups = readdirSync(join(folder, 'backups'));
  // A backup that has its name is whole; looking at all of them each time would take long.
  const newest = backups
    .filter((name) => name.endsWith('.zip'))
    .toSorted()
    .at(-1);
  if (newest !== undefined) await verifyArchive(realDisk, join(folder, 'backups', newest));
  rmSync(join(folder, 'aside'), { recursive: true, force: true });
}

const ended = (child: ChildProcess): Promise<unknown> =>
  child.exitCode === null && child.signalCode === null
    ? new Promise((done) => child.once('exit', done))
    : Promise.resolve();

/** Killed before it has said that it is there: in the middle of opening, migrating or tidying up. */
async function killWhileOpening(folder: string, afterMs: number): Promise<void> {
  const child = launch(folder);
  const gone = ended(child);
  setTimeout(() => child.kill('SIGKILL'), afterMs);
  await gone;
}

async function killWhileBusy(folder: string, known: Known, kill: number): Promise<number> {
  const began = performance.now();
  const program = await start(folder);
  const opening = performance.now() - began;
  const gone = ended(program.child);
  const end = (ms: number) => void setTimeout(() => program.child.kill('SIGKILL'), Math.random() * ms);
  setTimeout(() => program.child.kill('SIGKILL'), 20_000).unref();
  if (known.stylusId === '') known.stylusId = (await ask<Id>(program, 'stylus.create', DRAFT)).id;
  // Every third one aims at a restore, the others at any moment once pictures are going in.
  const aimed = kill % 3 === 1 && known.backup !== null;
  if (aimed) end(1_200);
  const work = aimed ? restore(program, known) : keepBusy(program, known, () => end(1_500));
  await work.catch(() => undefined);
  if (aimed) end(0);
  await gone;
  return opening;
}

it(
  `loses nothing that was acknowledged when it is killed ${KILLS} times`,
  async () => {
    const folder = join(temporaryFolder(), 'collection');
    const known: Known = { stylusId: '', ledger: EMPTY, backup: null, pending: null, counts: {} };
    const first = await openCollection({ folder, who: 'a test' });
    // So that the demo, which is measured in the background, stays out of it.
    first.db.run("INSERT INTO setting VALUES ('demo-offered', 'no')");
    first.close();
    for (let kills = 0; kills < KILLS;) {
      const opening = await killWhileBusy(folder, known, kills++);
      // Now and then once more while it opens what the last kill left behind.
      if (kills % 4 === 2 && kills < KILLS) {
        await killWhileOpening(folder, Math.random() * opening);
        count(known, 'killed while opening');
        kills++;
      }
      await check(folder, known);
    }
    console.log(`${KILLS} kills: ${JSON.stringify(known.counts)}`);
    expect(known.ledger.captures.size).toBeGreaterThan(0);
    expect(known.ledger.entries.size).toBeGreaterThan(0);
  },
  60_000 + KILLS * 20_000,
);

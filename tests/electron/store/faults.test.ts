import { readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { Context } from '../../../electron/host/context.ts';
import type { Engine } from '../../../electron/host/engine.ts';
import { collectionHandlers } from '../../../electron/host/handlers/collection.ts';
import { pictureHandlers } from '../../../electron/host/handlers/pictures.ts';
import { createIncoming } from '../../../electron/host/incoming.ts';
import { createJobs } from '../../../electron/host/jobs.ts';
import { inspectPicture, showPicture } from '../../../electron/host/pictures/inspect.ts';
import { bytesOf } from '../../../electron/host/pictures/source.ts';
import { knownOriginals } from '../../../electron/host/store/captures.ts';
import { openCollection } from '../../../electron/host/store/collection.ts';
import type { Database } from '../../../electron/host/store/database.ts';
import { realDisk, type Disk } from '../../../electron/host/store/disk.ts';
import type { HostHandlers, InputOf } from '../../../shared/index.ts';
import { DRAFT, FACTS, picture, temporaryFolder } from '../support.ts';

/**
 * Call after call of the ports to disk and database is made to fail, once or from then on, through importing, showing,
 * editing and putting away; afterwards the collection must be whole and hold everything that was acknowledged.
 */
type Fault = { readonly at: number; readonly forEver: boolean };
type Counter = { calls: number };

const broken = () => Object.assign(new Error('ENOSPC: no space left on device'), { code: 'ENOSPC' });

function failing<T extends object>(port: T, names: readonly (keyof T)[], fault: Fault, counter: Counter): T {
  const copy = { ...port };
  for (const name of names) {
    const real = port[name] as (...args: unknown[]) => unknown;
    copy[name] = ((...args: unknown[]) => {
      counter.calls++;
      const fails = fault.forEver ? counter.calls >= fault.at : counter.calls === fault.at;
      if (fails) throw broken();
      return real(...args);
    }) as T[keyof T];
  }
  return copy;
}

/** Promised failures, not thrown ones: that is how a disk fails. */
function failingDisk(fault: Fault, counter: Counter): Disk {
  const names = Object.keys(realDisk) as (keyof Disk)[];
  const thrown = failing(realDisk, names, fault, counter);
  const copy: Record<string, unknown> = {};
  for (const name of names)
    copy[name] = async (...args: unknown[]) => (thrown[name] as (...a: unknown[]) => unknown)(...args);
  return copy as Disk;
}

type InThread = { source: Parameters<typeof bytesOf>[0]; maxEdgePx: number };

/** The decoder in this thread: the same code as in the built one. */
async function look(kind: string, { source, maxEdgePx }: InThread) {
  const bytes = await bytesOf(source);
  if (!bytes.ok) return bytes;
  return kind === 'inspect' ? inspectPicture(bytes.value, '') : showPicture(bytes.value, maxEdgePx);
}
const inThread = { run: look, close: async () => undefined } as unknown as Engine;

type Did = { styluses: string[]; captures: string[]; entries: string[]; binned: string[]; failed: number };

/** A short evening with the program; goes on after every refusal, as a person would. */
async function evening(handlers: HostHandlers, did: Did): Promise<void> {
  const attempt = async <T>(work: () => Promise<T>): Promise<T | null> => {
    try {
      return await work();
    } catch {
      did.failed++;
      return null;
    }
  };
  const stylus = await attempt(() => handlers['stylus.create'](DRAFT));
  if (stylus === null) return;
  did.styluses.push(stylus.id);
  for (const shade of [30, 60]) {
    const bytes = new Uint8Array(await picture(shade));
    const offered = await attempt(() => handlers['picture.offer']({ fileName: 'a.png', bytes }));
    if (offered === null) continue;
    const facts: InputOf<'capture.add'> = {
      ...FACTS,
      token: offered.token,
      stylusId: stylus.id,
      isBaseline: true,
    };
    // Tried twice: what failed once must not have used up the picture.
    const capture =
      (await attempt(() => handlers['capture.add'](facts))) ??
      (await attempt(() => handlers['capture.add'](facts)));
    if (capture === null) continue;
    did.captures.push(capture.id);
    await attempt(() => handlers['capture.picture']({ id: capture.id, maxEdgePx: 16 }));
  }
  const entry = { stylusId: stylus.id, kind: 'note', date: '2024-01-02', played: null, text: 'x' } as const;
  const added = await attempt(() => handlers['entry.add'](entry));
  if (added !== null) did.entries.push(added.id);
  const [first] = did.captures;
  if (
    first !== undefined &&
    (await attempt(() => handlers['bin.put']({ kind: 'capture', id: first }))) !== null
  )
    did.binned.push(first);
}

async function run(
  folder: string,
  faults: { disk?: Fault; database?: Fault },
  counter: Counter,
): Promise<Did> {
  const did: Did = { styluses: [], captures: [], entries: [], binned: [], failed: 0 };
  const disk = faults.disk ? failingDisk(faults.disk, counter) : realDisk;
  const opened = await openCollection({ folder, who: 'a test', disk }).catch(() => null);
  if (opened === null) return { ...did, failed: 1 };
  const names: (keyof Database)[] = ['run', 'get', 'all'];
  const db = faults.database ? failing(opened.db, names, faults.database, counter) : opened.db;
  const context: Context = {
    collection: { ...opened, db },
    measuring: inThread,
    pictures: inThread,
    jobs: createJobs(() => undefined),
    emit: () => undefined,
    shell: 'test',
    version: '0',
    printPdf: null,
    demoFolder: null,
    timeLimitMs: 1000,
  };
  const pictures = pictureHandlers(context, createIncoming(context));
  await evening({ ...collectionHandlers(context), ...pictures } as HostHandlers, did);
  opened.close();
  return did;
}

async function check(folder: string, did: Did): Promise<void> {
  const collection = await openCollection({ folder, who: 'a check' });
  const { db, originals, notices } = collection;
  expect(db.all('PRAGMA integrity_check').map((row) => ({ ...row }))).toEqual([{ integrity_check: 'ok' }]);
  expect(db.all('PRAGMA foreign_key_check')).toEqual([]);
  const known = knownOriginals(db);
  for (const [sha256, mediaType] of known) expect(await originals.isIntact(sha256, mediaType)).toBe(true);
  expect(notices.filter((notice) => notice.includes('missing'))).toEqual([]);
  const files = (name: string): string[] => {
    try {
      return readdirSync(`${folder}/${name}`);
    } catch {
      return [];
    }
  };
  expect(files('originals')).toHaveLength(known.size);
  expect(files('incoming')).toEqual([]);
  expect(
    [...files('.'), ...files('derived'), ...files('originals')].filter((name) => name.endsWith('.tmp')),
  ).toEqual([]);
  const ids = (table: string, where = '1'): unknown[] =>
    db.all(`SELECT id FROM ${table} WHERE ${where}`).map((row) => row['id']);
  // Everything that was acknowledged is there; a row that was not acknowledged must not have appeared.
  expect(new Set(ids('stylus'))).toEqual(new Set(did.styluses));
  expect(new Set(ids('capture'))).toEqual(new Set(did.captures));
  expect(new Set(ids('entry'))).toEqual(new Set(did.entries));
  expect(ids('capture', 'binned_at IS NOT NULL')).toEqual(did.binned);
  collection.close();
}

describe.each([
  ['the disk', 'disk'],
  ['the database', 'database'],
] as const)('a fault of %s', (_name, port) => {
  it.each([false, true])(
    'at every call, for ever: %s, loses nothing and leaves nothing behind',
    async (forEver) => {
      let hits = 0;
      for (let at = 1; at < 400; at++) {
        const folder = temporaryFolder();
        const counter = { calls: 0 };
        const did = await run(folder, { [port]: { at, forEver } }, counter);
        if (counter.calls < at) break;
        hits++;
        await check(folder, did);
      }
      // The loop really went through the work: fewer calls than this would mean that the ports are bypassed.
      expect(hits).toBeGreaterThan(25);
    },
    120_000,
  );
});

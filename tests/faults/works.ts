import { cpSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect } from 'vitest';
import type { Context } from '../../electron/host/context.ts';
import { createCalm } from '../../electron/host/calm.ts';
import { handlersFor } from '../../electron/host/host.ts';
import { createJobs } from '../../electron/host/jobs.ts';
import { makeBackup } from '../../electron/host/keeping/backup.ts';
import { emptyBin } from '../../electron/host/keeping/bin.ts';
import { exportStylus, importStylus } from '../../electron/host/keeping/one-stylus.ts';
import { restoreBackup } from '../../electron/host/keeping/restore.ts';
import { verifyArchive } from '../../electron/host/keeping/unpack.ts';
import { knownOriginals } from '../../electron/host/store/captures.ts';
import { openCollection } from '../../electron/host/store/collection.ts';
import type { Collection } from '../../electron/host/store/collection.ts';
import { realDisk } from '../../electron/host/store/disk.ts';
import type { InputOf } from '../../shared/index.ts';
import { fill, open, rowsOf } from '../electron/keeping/making.ts';
import { DRAFT, FACTS, picture } from '../electron/support.ts';
import type { Ports } from './ports.ts';

/** The works that a fault may meet: what is there before, what is done, and what must be there afterwards. */
export type Rows = ReturnType<typeof rowsOf>;
type Handlers = ReturnType<typeof handlersFor>;

/** What was acknowledged, by table, and what was refused. */
export type Did = { readonly made: Record<string, string[]>; failed: number; done: boolean };

export type Work = {
  readonly name: string;
  readonly ports: readonly ('disk' | 'database' | 'decoder' | 'printer')[];
  /** Fills an empty folder; without faults, once. */
  prepare(folder: string): Promise<void>;
  /** Goes on after every refusal, as a person would. */
  run(folder: string, ports: Ports, did: Did): Promise<void>;
  /** `before`: the rows of the prepared collection. */
  check(now: Rows, before: Rows, did: Did, folder: string): Promise<void> | void;
};

const FIRST = 'First';
const BACKUP = 'backups/stylus-daybook-by-hand-2024-01-01T10-00-00.zip';

async function attempt<T>(did: Did, work: () => Promise<T>): Promise<T | null> {
  try {
    return await work();
  } catch {
    did.failed++;
    return null;
  }
}

function contextOf(collection: Collection, { engine, printPdf }: Ports): Context {
  return {
    collection,
    measuring: engine,
    pictures: engine,
    jobs: createJobs(() => undefined),
    calm: createCalm(),
    emit: () => undefined,
    shell: 'test',
    version: '0',
    printPdf,
    demoFolder: null,
    timeLimitMs: 60_000,
  };
}

/** Opens the collection through the faulty ports, hands it over and closes it. */
async function opened(
  folder: string,
  ports: Ports,
  did: Did,
  work: (handlers: Handlers, collection: Collection) => Promise<void>,
): Promise<void> {
  const { disk, connect } = ports;
  const collection = await attempt(did, () => openCollection({ folder, who: 'a test', disk, connect }));
  if (collection === null) return;
  try {
    await work(handlersFor(contextOf(collection, ports)), collection);
  } finally {
    collection.close();
  }
}

const made = (did: Did, table: string, row: { id: string } | null): void => {
  if (row !== null) (did.made[table] ??= []).push(row.id);
};

const ids = (rows: unknown[] | undefined): string[] => (rows ?? []).map((row) => (row as { id: string }).id);

/** Everything acknowledged is there; a row that was not acknowledged has not appeared. */
function onlyAcknowledged(now: Rows, before: Rows, did: Did): void {
  for (const table of ['stylus', 'capture', 'entry', 'comparison'])
    expect(ids(now[table]).toSorted(), table).toEqual(
      [...ids(before[table]), ...(did.made[table] ?? [])].toSorted(),
    );
}

async function prepareTwo(folder: string): Promise<void> {
  const collection = await open(folder);
  await fill(collection, FIRST, [30, 60]);
  collection.close();
}

const oneOf = (now: Rows, states: readonly Rows[]): void => {
  const seen = states.map((state) => JSON.stringify(state));
  expect(seen).toContain(JSON.stringify(now));
};

const stylusId = ({ db }: Collection): string =>
  String(db.get('SELECT id FROM stylus WHERE name = ?', FIRST)?.['id']);
const captureIds = ({ db }: Collection): string[] =>
  db.all('SELECT id FROM capture ORDER BY file_name').map((row) => String(row['id']));

const importing: Work = {
  name: 'import',
  ports: ['disk', 'database', 'decoder'],
  prepare: async (folder) => (await open(folder)).close(),
  run: (folder, ports, did) =>
    opened(folder, ports, did, async (handlers) => {
      const stylus = await attempt(did, () => handlers['stylus.create'](DRAFT));
      made(did, 'stylus', stylus);
      if (stylus === null) return;
      for (const shade of [30, 60]) {
        const bytes = new Uint8Array(await picture(shade));
        const offered = await attempt(did, () => handlers['picture.offer']({ fileName: 'a.png', bytes }));
        if (offered === null) continue;
        const facts = { ...FACTS, token: offered.token, stylusId: stylus.id, isBaseline: true };
        // Tried twice: what failed once must not have used up the picture.
        const capture =
          (await attempt(did, () => handlers['capture.add'](facts))) ??
          (await attempt(did, () => handlers['capture.add'](facts)));
        made(did, 'capture', capture);
        if (capture !== null)
          await attempt(did, () => handlers['capture.picture']({ id: capture.id, maxEdgePx: 16 }));
      }
      const entry = {
        stylusId: stylus.id,
        kind: 'note',
        date: '2024-01-02',
        played: null,
        text: 'x',
      } as const;
      made(did, 'entry', await attempt(did, () => handlers['entry.add'](entry)));
      did.done = did.failed === 0;
    }),
  check: onlyAcknowledged,
};

const live = (shade: number): InputOf<'picture.offerPixels'> => ({
  fileName: 'live.png',
  widthPx: 20,
  heightPx: 10,
  channels: 1,
  bits: 8,
  pixels: new Uint8Array(200).fill(shade),
});

const capturing: Work = {
  name: 'capture',
  ports: ['disk', 'database', 'decoder'],
  prepare: prepareTwo,
  run: (folder, ports, did) =>
    opened(folder, ports, did, async (handlers, collection) => {
      const tokens: string[] = [];
      for (const shade of [10, 20, 30]) {
        const offered = await attempt(did, () => handlers['picture.offerPixels'](live(shade)));
        if (offered !== null) tokens.push(offered.token);
      }
      const [token, ...parts] = tokens;
      const id = await attempt(did, async () => stylusId(collection));
      if (token === undefined || id === null) return;
      const facts = { ...FACTS, token, parts, stylusId: id };
      const capture =
        (await attempt(did, () => handlers['capture.add'](facts))) ??
        (await attempt(did, () => handlers['capture.add'](facts)));
      made(did, 'capture', capture);
    }),
  check: onlyAcknowledged,
};

const comparing: Work = {
  name: 'compare',
  ports: ['disk', 'database', 'decoder'],
  prepare: prepareTwo,
  run: (folder, ports, did) =>
    opened(folder, ports, did, async (handlers, collection) => {
      const found = (await attempt(did, async () => captureIds(collection))) ?? [];
      const [baselineId, laterId] = found;
      if (laterId === undefined) return;
      const comparison = await attempt(did, () =>
        handlers['comparison.run']({ baselineId, laterId, jobId: 'c' }),
      );
      made(did, 'comparison', comparison);
      await attempt(did, () => handlers['capture.examine']({ id: laterId, jobId: 'e' }));
    }),
  check: onlyAcknowledged,
};

const deleting: Work = {
  name: 'delete',
  ports: ['disk', 'database'],
  prepare: async (folder) => {
    await prepareTwo(folder);
    const collection = await open(folder);
    await fill(collection, 'Second', [60, 90]);
    collection.db.run("UPDATE stylus SET binned_at = '2024-01-01T00:00:00.000Z' WHERE name = 'Second'");
    collection.close();
  },
  run: (folder, ports, did) =>
    opened(folder, ports, did, async (handlers, collection) => {
      const [first] = (await attempt(did, async () => captureIds(collection))) ?? [];
      if (first === undefined) return;
      await attempt(did, () => handlers['bin.put']({ kind: 'capture', id: first }));
      await attempt(did, () => handlers['bin.takeBack']({ kind: 'capture', id: first }));
      const emptied = await attempt(did, () => emptyBin(collection, new Date('2024-06-01')));
      did.done = emptied !== null && emptied.things > 0;
    }),
  check: (now, before, did) => {
    // All of it or nothing; the picture that both showed stays.
    const gone = ids(now['stylus']).length === 1;
    if (did.done) expect(gone).toBe(true);
    expect(ids(now['capture'])).toHaveLength(gone ? 2 : 4);
    expect(now['original']).toHaveLength(gone ? 2 : 3);
    const named = (rows: Rows): unknown[] =>
      (rows['stylus'] ?? []).filter((row) => (row as { name: string }).name === FIRST);
    expect(named(now)).toEqual(named(before));
  },
};

let thenRows: Rows | null = null;

const restoring: Work = {
  name: 'restore',
  ports: ['disk', 'database'],
  prepare: async (folder) => {
    await prepareTwo(folder);
    const collection = await open(folder);
    thenRows = rowsOf(collection);
    const target = join(folder, 'backups');
    const { path } = await makeBackup(collection, { kind: 'by-hand', target, program: 'a test' });
    await realDisk.rename(path, join(folder, BACKUP));
    await fill(collection, 'Second', [90]);
    collection.close();
  },
  run: async (folder, { disk, connect }, did) => {
    const restored = await attempt(did, () => restoreBackup(disk, folder, join(folder, BACKUP), {}, connect));
    did.done = restored !== null;
  },
  check: (now, before, did) => {
    oneOf(now, did.done ? [thenRows!] : [thenRows!, before]);
  },
};

const backingUp: Work = {
  name: 'back up',
  ports: ['disk', 'database'],
  prepare: prepareTwo,
  run: (folder, ports, did) =>
    opened(folder, ports, did, async (_handlers, collection) => {
      const target = join(folder, 'backups');
      const made = await attempt(did, () =>
        makeBackup(collection, { kind: 'by-hand', target, program: 'a test' }),
      );
      did.done = made !== null;
    }),
  check: async (now, before, did, folder) => {
    expect(now).toEqual(before);
    // A file that has its name is whole.
    const names = readdirSync(join(folder, 'backups'));
    for (const name of names) await verifyArchive(realDisk, join(folder, 'backups', name));
    if (did.done) expect(names).toHaveLength(1);
  },
};

const importingOne: Work = {
  name: 'import a stylus',
  ports: ['disk', 'database'],
  prepare: async (folder) => {
    await prepareTwo(folder);
    const collection = await open(folder);
    const { stylus } = await fill(collection, 'Second', [60, 90]);
    const options = {
      stylusId: stylus.id,
      program: 'a test',
      target: join(folder, 'backups'),
      fileName: 'one.zip',
    };
    await exportStylus(collection, options);
    collection.db.run("UPDATE stylus SET binned_at = '2024-01-01T00:00:00.000Z' WHERE id = ?", stylus.id);
    await emptyBin(collection, new Date());
    collection.close();
  },
  run: (folder, ports, did) =>
    opened(folder, ports, did, async (_handlers, collection) => {
      const carried = await attempt(did, () => importStylus(collection, join(folder, 'backups', 'one.zip')));
      did.done = carried !== null;
    }),
  check: (now, _before, did) => {
    const there = ids(now['stylus']).length === 2;
    expect(there).toBe(did.done);
    expect(ids(now['capture'])).toHaveLength(there ? 4 : 2);
    expect(ids(now['entry'])).toHaveLength(there ? 2 : 1);
  },
};

const GOLDEN = fileURLToPath(new URL('../electron/store/golden/format-1', import.meta.url));

const migrating: Work = {
  name: 'migrate',
  ports: ['disk', 'database'],
  prepare: async (folder) => cpSync(GOLDEN, folder, { recursive: true }),
  run: (folder, ports, did) =>
    opened(folder, ports, did, async () => {
      did.done = true;
    }),
  check: (now, before, did, folder) => {
    expect(now).toEqual(before);
    const copies = readdirSync(join(folder, 'backups')).filter((name) => name.endsWith('.sqlite'));
    if (did.done) expect(copies.length).toBeGreaterThan(0);
  },
};

const printing: Work = {
  name: 'print',
  ports: ['disk', 'database', 'decoder', 'printer'],
  prepare: prepareTwo,
  run: (folder, ports, did) =>
    opened(folder, ports, did, async (handlers, collection) => {
      const id = await attempt(did, async () => stylusId(collection));
      if (id === null) return;
      await attempt(did, () => handlers['sheet.pdf']({ stylusId: id, comparisonId: null, paper: 'A4' }));
      await attempt(did, () => handlers['sheet.html']({ stylusId: id, comparisonId: null, paper: 'A4' }));
    }),
  check: (now, before) => {
    expect(now).toEqual(before);
  },
};

export const WORKS: readonly Work[] = [
  importing,
  capturing,
  comparing,
  deleting,
  backingUp,
  restoring,
  importingOne,
  migrating,
  printing,
];

/** Whole, complete and tidy, whatever was done to it; returns the rows. */
export async function soundRows(folder: string): Promise<Rows> {
  const collection = await open(folder);
  const { db, originals, notices } = collection;
  try {
    expect(db.all('PRAGMA integrity_check').map((row) => ({ ...row }))).toEqual([{ integrity_check: 'ok' }]);
    expect(db.all('PRAGMA foreign_key_check')).toEqual([]);
    const known = knownOriginals(db);
    for (const [sha256, mediaType] of known)
      expect(await originals.isIntact(sha256, mediaType), sha256).toBe(true);
    expect(notices.filter((notice) => notice.includes('missing'))).toEqual([]);
    const files = (name: string): Promise<string[]> => realDisk.list(join(folder, name));
    expect(await files('originals')).toHaveLength(known.size);
    expect([...(await files('incoming')), ...(await files('staging'))]).toEqual([]);
    const places = ['.', 'derived', 'originals', 'backups'];
    const all = (await Promise.all(places.map(files))).flat();
    expect(all.filter((name) => /\.tmp$|\.part/.test(name) || name === 'restore.json')).toEqual([]);
    return rowsOf(collection);
  } finally {
    collection.close();
  }
}

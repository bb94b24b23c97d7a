import { DatabaseSync } from '@photostructure/sqlite';
import { open, rename, rm } from 'node:fs/promises';
import { Refusal } from '../../../shared/index.ts';
import { canCopyAside, copyAside } from './copy-aside.ts';
import { APPLICATION_ID, MIGRATIONS } from './schema.ts';
import type { Migration } from './schema.ts';
import { createWatch, type Watch } from './watch.ts';

export type Connection = InstanceType<typeof DatabaseSync>;
export type SqlValue = string | number | null | Uint8Array;
export type Row = Record<string, SqlValue>;

export type Database = {
  get(sql: string, ...values: SqlValue[]): Row | undefined;
  all(sql: string, ...values: SqlValue[]): Row[];
  /** What `map` makes of each row: thousands of rows with their texts are never held all at once. It must ask nothing. */
  mapped<T>(map: (row: Row) => T, sql: string, ...values: SqlValue[]): T[];
  /** Returns the number of rows changed. */
  run(sql: string, ...values: SqlValue[]): number;
  /** All or nothing; on disk when it returns. */
  transaction<T>(work: () => T): T;
  /** What is read and what is written, for answers that are kept; see memo.ts. */
  readonly watch: Watch;
  /** A verified copy as of now, in a file that must not exist yet. */
  copyTo(file: string): Promise<void>;
  close(): void;
};

/** A bug in write-ahead logging before this version could corrupt a database. */
const OLDEST_SQLITE = [3, 51, 3];

/** What every connection must report after it was set; WAL alone would leave synchronous at NORMAL. */
const PRAGMAS: readonly [name: string, set: string, expected: string | number][] = [
  ['journal_mode', 'WAL', 'wal'],
  ['synchronous', 'FULL', 2],
  ['foreign_keys', 'ON', 1],
  // Unset by default, but a build could differ: a mapped file turns an input/output error into a crash. A database
  // without mapping support reports nothing.
  ['mmap_size', '0', 0],
  ['trusted_schema', 'OFF', 0],
];

function assertVersion(connection: Connection): void {
  const row = connection.prepare('SELECT sqlite_version() AS version').get() as { version: string };
  const have = row.version.split('.').map(Number);
  const difference = OLDEST_SQLITE.map((least, i) => (have[i] ?? 0) - least).find((d) => d !== 0) ?? 0;
  if (difference < 0) throw new Error(`SQLite ${row.version} is too old; 3.51.3 or newer is needed.`);
}

function setPragmas(connection: Connection): void {
  for (const [name, set, expected] of PRAGMAS) {
    connection.exec(`PRAGMA ${name} = ${set}`);
    const row = connection.prepare(`PRAGMA ${name}`).get() as Record<string, unknown> | undefined;
    const found = row === undefined ? undefined : Object.values(row)[0];
    if (found !== expected && !(name === 'mmap_size' && found === undefined))
      throw new Error(`the database did not take ${name} = ${set} but answers ${String(found)}`);
  }
}

function wrap(connection: Connection, file: string, make: Connect): Database {
  const statements = new Map<string, ReturnType<Connection['prepare']>>();
  const prepared = (sql: string) => {
    const known = statements.get(sql) ?? connection.prepare(sql);
    statements.set(sql, known);
    return known;
  };
  const watch = createWatch();
  return {
    get: (sql, ...values) => {
      watch.read(sql, values);
      return prepared(sql).get(...values) as Row | undefined;
    },
    all: (sql, ...values) => {
      watch.read(sql, values);
      return prepared(sql).all(...values) as Row[];
    },
    mapped: (map, sql, ...values) => {
      watch.read(sql, values);
      const made: ReturnType<typeof map>[] = [];
      for (const row of prepared(sql).iterate(...values)) made.push(map(row as Row));
      return made;
    },
    run: (sql, ...values) => {
      watch.wrote(sql);
      return prepared(sql).run(...values).changes;
    },
    transaction: (work) => {
      try {
        return inTransaction(connection, work);
      } catch (error) {
        // Whatever was read meanwhile may have been rolled back.
        watch.everything();
        throw error;
      }
    },
    watch,
    copyTo: (copy) => copyInto({ connection, file }, copy, make),
    close: () => connection.close(),
  };
}

/** Inside another transaction the work becomes part of it: a whole demo collection is there or is not. */
function inTransaction<T>(connection: Connection, work: () => T): T {
  if (connection.isTransaction) return work();
  connection.exec('BEGIN IMMEDIATE');
  try {
    const result = work();
    connection.exec('COMMIT');
    return result;
  } catch (error) {
    // A failed COMMIT may have rolled back by itself.
    if (connection.isTransaction) connection.exec('ROLLBACK');
    throw error;
  }
}

const numberFrom = (connection: Connection, pragma: string): number =>
  Object.values(connection.prepare(`PRAGMA ${pragma}`).get() as Record<string, number>)[0] ?? 0;

function assertOurs(connection: Connection, newest: number): number {
  const version = numberFrom(connection, 'user_version');
  const application = numberFrom(connection, 'application_id');
  if (version === 0 && application === 0) return 0;
  if (application !== APPLICATION_ID)
    throw new Refusal(
      'not-a-collection',
      'The folder holds a database of another program. Nothing was changed.',
    );
  if (version > newest)
    throw new Refusal(
      'collection-too-new',
      `The collection was last opened by a newer Stylus Daybook (format ${version}; this one knows ${newest}). ` +
        'Nothing was changed. Open it with the newer program.',
    );
  return version;
}

/** Brings the schema up to date in one transaction, the version number inside it. */
function migrate(connection: Connection, from: number, migrations: readonly Migration[]): void {
  inTransaction(connection, () => {
    connection.exec(`PRAGMA application_id = ${APPLICATION_ID}`);
    for (const { version, sql } of migrations.filter((step) => step.version > from)) {
      connection.exec(sql);
      connection.exec(`PRAGMA user_version = ${version}`);
    }
    const broken = connection.prepare('PRAGMA foreign_key_check').all();
    if (broken.length > 0) throw new Error(`the new schema breaks ${broken.length} references`);
  });
}

function assertSound(connection: Connection): void {
  const rows = connection.prepare('PRAGMA quick_check(1)').all() as Record<string, string>[];
  const verdict = Object.values(rows[0] ?? {})[0] ?? 'no answer';
  const broken = connection.prepare('PRAGMA foreign_key_check').all().length;
  if (verdict === 'ok' && broken === 0) return;
  throw damaged(verdict === 'ok' ? `${broken} broken references` : verdict);
}

/** The database's own words are for programmers and go to standard error. */
function damaged(detail: string): Refusal {
  process.stderr.write(`database: ${detail}\n`);
  return new Refusal(
    'collection-damaged',
    "The collection's database is damaged. Nothing was changed. Take it back from a backup; what is there now is kept " +
      'aside.',
  );
}

/** Makes a connection; the tests hand in one whose calls fail. */
export type Connect = (file: string, options: { readOnly?: boolean }) => Connection;
export const connect: Connect = (file, options) =>
  new DatabaseSync(file, { timeout: 5_000, enableForeignKeyConstraints: true, ...options });

type Live = { readonly connection: Connection; readonly file: string };

/**
 * A copy of the database as it is now, in a file that must not exist yet: written through to the disk, opened and
 * looked over before it counts. Under another name until then, so that a name that is there stands for a whole copy.
 */
async function copyInto({ connection, file: live }: Live, file: string, make: Connect): Promise<void> {
  const unfinished = `${file}.part`;
  try {
    await rm(unfinished, { force: true });
    if (make === connect && canCopyAside) await copyAside(live, unfinished);
    else writeCopy(connection, unfinished);
    // A finished file of its own, not the live database, so it may be opened and synced.
    const copy = await open(unfinished, 'r+');
    try {
      await copy.sync();
    } finally {
      await copy.close();
    }
    if (!(make === connect && canCopyAside)) checkCopy(unfinished, make);
    await rename(unfinished, file);
  } catch (error) {
    await rm(unfinished, { force: true }).catch(() => undefined);
    throw error;
  }
}

const writeCopy = (connection: Connection, file: string): void =>
  void connection.prepare('VACUUM INTO ?').run(file);

function checkCopy(file: string, make: Connect): void {
  const check = make(file, { readOnly: true });
  try {
    assertSound(check);
  } finally {
    check.close();
  }
}

/** What the copying thread does (copy-worker.ts): the same two steps on a connection of its own. */
export function copyHere(live: string, file: string): void {
  const connection = connect(live, { readOnly: true });
  try {
    writeCopy(connection, file);
  } finally {
    connection.close();
  }
  checkCopy(file, connect);
}

export type OpenOptions = {
  readonly file: string;
  /** Where to copy a database before its schema changes; null: it is a copy already. */
  readonly backupFile: ((fromVersion: number) => string) | null;
  readonly migrations?: readonly Migration[];
  readonly connect?: Connect;
};

export async function openDatabase({
  file,
  backupFile,
  migrations = MIGRATIONS,
  connect: make = connect,
}: OpenOptions): Promise<Database> {
  let connection: Connection | undefined;
  try {
    connection = make(file, {});
    assertVersion(connection);
    const newest = migrations.at(-1)!.version;
    const version = assertOurs(connection, newest);
    setPragmas(connection);
    assertSound(connection);
    if (version > 0 && version < newest && backupFile !== null)
      await copyInto({ connection, file }, backupFile(version), make);
    if (version < newest) migrate(connection, version, migrations);
    return wrap(connection, file, make);
  } catch (error) {
    connection?.close();
    const message = error instanceof Error ? error.message : String(error);
    if (!(error instanceof Refusal) && /malformed|not a database|disk image/i.test(message))
      throw damaged(message);
    throw error;
  }
}

import { Refusal } from '../../../shared/index.ts';
import { connect, openDatabase } from './database.ts';
import type { Connect, Connection, Database } from './database.ts';
import { MEDIA_TYPES } from './originals.ts';
import { APPLICATION_ID, MIGRATIONS } from './schema.ts';
import { listStyluses } from './cards.ts';
import { stylusPage } from './styluses.ts';

/** A database that came from outside: believed only after it was found to be what this program itself would have made. */
const newest = MIGRATIONS.at(-1)!.version;

const refusedDatabase = (why: string): Refusal =>
  new Refusal('bad-archive', `The database in it was not taken in: ${why}. Nothing was changed.`);

type SchemaRow = { type: string; name: string; tbl_name: string; sql: string };

function schemaOf(connection: Connection): string[] {
  const rows = connection
    .prepare('SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY type, name')
    .all() as SchemaRow[];
  return rows
    .filter(({ name }) => !/^sqlite_stat\d$/.test(name))
    .map(({ type, name, tbl_name: table, sql }) =>
      [type, name, table, sql.replaceAll(/\s+/g, ' ')].join('|'),
    );
}

/** Triggers, views and tables of another make would run or mislead whoever reads them later. */
function assertOwnSchema(connection: Connection, version: number): void {
  const model = connect(':memory:', {});
  try {
    for (const step of MIGRATIONS.filter((one) => one.version <= version)) model.exec(step.sql);
    const [found, expected] = [schemaOf(connection), schemaOf(model)];
    if (found.length !== expected.length || found.some((line, i) => line !== expected[i]))
      throw refusedDatabase('it holds tables that are not those of a daybook');
  } finally {
    model.close();
  }
}

const pragma = (connection: Connection, name: string): unknown =>
  Object.values(connection.prepare(`PRAGMA ${name}`).get() ?? {})[0];

function assertOurs(connection: Connection): number {
  if (pragma(connection, 'application_id') !== APPLICATION_ID)
    throw refusedDatabase('it belongs to another program');
  const version = Number(pragma(connection, 'user_version'));
  if (version > newest)
    throw new Refusal(
      'collection-too-new',
      `The backup was made by a newer Stylus Daybook (format ${version}; this one knows ${newest}). Nothing was ` +
        'changed. Open it with the newer program.',
    );
  if (version < 1) throw refusedDatabase('its format has no number');
  return version;
}

/** Before anything else is asked of it: no trigger runs and no row is believed. */
function inspect(file: string, make: Connect): void {
  let connection: Connection | undefined;
  try {
    connection = make(file, {});
    connection.exec('PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON');
    const version = assertOurs(connection);
    assertOwnSchema(connection, version);
    if (pragma(connection, 'integrity_check(1)') !== 'ok') throw refusedDatabase('it is damaged');
    if (connection.prepare('PRAGMA foreign_key_check').all().length > 0)
      throw refusedDatabase('its parts do not fit each other');
  } catch (error) {
    const message = error instanceof Error ? error.message : '';
    if (
      error instanceof Refusal ||
      !/malformed|not a database|disk image|no such|unsupported file format/i.test(message)
    )
      throw error;
    throw refusedDatabase('it is damaged or no database');
  } finally {
    connection?.close();
  }
}

/** Every row can be read as what it says it is, and no row names a file by anything but a hash. */
function assertReadable(db: Database): void {
  const bad = db
    .all('SELECT sha256, media_type FROM original')
    .find(
      (row) =>
        !/^[0-9a-f]{64}$/.test(String(row['sha256'])) || !MEDIA_TYPES.includes(String(row['media_type'])),
    );
  if (bad !== undefined) throw refusedDatabase('it names a picture in a way that is not used here');
  try {
    listStyluses(db);
    for (const row of db.all('SELECT id FROM stylus')) stylusPage(db, String(row['id']));
  } catch {
    throw refusedDatabase('some of its rows cannot be read');
  }
}

/**
 * Checks a database that lies in staging and brings it up to the present format there; `use` may look at it. It is
 * closed and whole in one file when this returns.
 */
export async function checkStaged<T>(
  file: string,
  use: (db: Database) => T,
  make: Connect = connect,
): Promise<T> {
  inspect(file, make);
  const db = await openDatabase({ file, backupFile: null, connect: make });
  try {
    assertReadable(db);
    return use(db);
  } finally {
    db.close();
  }
}

export type OriginalRow = { readonly sha256: string; readonly mediaType: string };
export const originalRows = (db: Pick<Database, 'all'>): OriginalRow[] =>
  db
    .all('SELECT sha256, media_type FROM original ORDER BY sha256')
    .map((row) => ({ sha256: String(row['sha256']), mediaType: String(row['media_type']) }));

/** The pictures that a copy names: those of that moment, whatever has been added to the collection since. */
export function originalsInCopy(file: string): OriginalRow[] {
  const connection = connect(file, { readOnly: true });
  try {
    return originalRows({ all: (sql) => connection.prepare(sql).all() as ReturnType<Database['all']> });
  } finally {
    connection.close();
  }
}

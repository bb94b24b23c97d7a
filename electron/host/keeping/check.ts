import { join } from 'node:path';
import type { CheckReport } from '../../../shared/index.ts';
import type { Collection } from '../store/collection.ts';
import { originalName } from '../store/originals.ts';
import { columnsOf, referencesOf } from '../store/related.ts';
import { stylusPage } from '../store/styluses.ts';
import { assertGoingOn } from './archive-write.ts';
import type { Watch } from './archive-write.ts';

/**
 * The full check: every page of the database, every reference, every row as what it says it is, and every picture
 * against the hash that it is named after. It only looks; nothing is repaired or moved.
 */
type Originals = CheckReport['originals'];

function checkDatabase({ db }: Collection): string[] {
  const integrity = db
    .all('PRAGMA integrity_check(20)')
    .map((row) => String(Object.values(row)[0]))
    .filter((line) => line !== 'ok');
  const broken = db.all('PRAGMA foreign_key_check');
  return [
    ...integrity,
    ...broken.map(
      (row) =>
        `A row of "${String(row['table'])}" belongs to a row of "${String(row['parent'])}" that is not there.`,
    ),
    ...checkRows(db),
  ];
}

function checkRows(db: Collection['db']): string[] {
  const unreadable = (read: () => unknown, sentence: string): string[] => {
    try {
      read();
      return [];
    } catch {
      return [sentence];
    }
  };
  return db
    .all('SELECT id, name FROM stylus')
    .flatMap((row) =>
      unreadable(
        () => stylusPage(db, String(row['id'])),
        `Something on the stylus “${String(row['name'])}” cannot be read.`,
      ),
    );
}

type User = { readonly table: string; readonly column: string; readonly columns: readonly string[] };

const usersOf = (db: Collection['db']): User[] =>
  referencesOf(db)
    .filter((one) => one.parent === 'original')
    .map(({ table, column }) => ({ table, column, columns: columnsOf(db, table).map((one) => one.name) }));

/** Who would miss a file: names of files and styluses, as the person knows them. */
function usedBy(db: Collection['db'], users: readonly User[], sha256: string): string[] {
  return users.flatMap(({ table, column, columns }) => {
    const hasStylus = columns.includes('stylus_id');
    const name = columns.includes('file_name') ? 'one.file_name' : `'${table.replaceAll('_', ' ')}'`;
    const join = hasStylus ? 'JOIN stylus ON stylus.id = one.stylus_id' : '';
    return db
      .all(
        `SELECT ${name} AS file, ${hasStylus ? 'stylus.name' : 'NULL'} AS stylus FROM ${table} AS one ${join} WHERE one.${column} = ?`,
        sha256,
      )
      .map(({ file, stylus }) => `${String(file)}${stylus === null ? '' : ` (${String(stylus)})`}`);
  });
}

async function checkOriginals(collection: Collection, watch: Watch): Promise<Originals> {
  const { db, originals, disk, folder } = collection;
  const rows = db.all('SELECT sha256, media_type FROM original ORDER BY sha256');
  const found: Originals = { fine: 0, damaged: [], missing: [], orphaned: [] };
  const names = new Set<string>();
  const users = usersOf(db);
  for (const [i, row] of rows.entries()) {
    assertGoingOn(watch);
    watch.onProgress?.('Comparing every picture with its checksum', i / rows.length);
    const [sha256, mediaType] = [String(row['sha256']), String(row['media_type'])];
    const file = originalName(sha256, mediaType);
    names.add(file);
    if ((await disk.sizeOf(originals.pathOf(sha256, mediaType))) === null)
      found.missing.push({ file, usedBy: usedBy(db, users, sha256) });
    else if (!(await originals.isIntact(sha256, mediaType)))
      found.damaged.push({ file, usedBy: usedBy(db, users, sha256) });
    else found.fine++;
  }
  found.orphaned = (await disk.list(join(folder, 'originals'))).filter((name) => !names.has(name));
  return found;
}

export async function checkCollection(collection: Collection, watch: Watch = {}): Promise<CheckReport> {
  watch.onProgress?.('Reading the whole database', 0);
  const problems = checkDatabase(collection);
  const originals = await checkOriginals(collection, watch);
  const { damaged, missing, orphaned } = originals;
  return {
    at: new Date().toISOString(),
    ok: problems.length + damaged.length + missing.length + orphaned.length === 0,
    database: { ok: problems.length === 0, problems },
    originals,
  };
}

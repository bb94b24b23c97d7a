import { binnableSchema } from '../../../shared/index.ts';
import type { BinItem, BinEmptied } from '../../../shared/index.ts';
import type { Database, Row } from './database.ts';
import { SHARED_TABLES, columnsOf, partsOf, referencesOf, tablesOf } from './related.ts';
import type { RowSet } from './related.ts';

/**
 * What was put away. Everything in here can be taken back, until the bin is emptied: that is the one act in the whole
 * program that destroys something.
 */

/** A table's name as bin.takeBack knows it; null where only the table's own screen can take something back. */
function kindOf(table: string): BinItem['kind'] {
  const read = binnableSchema.safeParse(table.replaceAll('_', '-'));
  return read.success ? read.data : null;
}

const text = (row: Row, column: string): string => (typeof row[column] === 'string' ? row[column] : '');

function describe(table: string, row: Row): string {
  switch (table) {
    case 'stylus':
      return text(row, 'name');
    case 'capture':
      return `${text(row, 'file_name')}, ${text(row, 'view')}${row['taken_wall'] ? `, ${text(row, 'taken_wall').slice(0, 10)}` : ''}`;
    case 'comparison':
      return `made ${text(row, 'created_at').slice(0, 10)}`;
    case 'entry':
      return [text(row, 'kind'), text(row, 'date'), text(row, 'text').slice(0, 80)]
        .filter(Boolean)
        .join(', ');
    case 'mark':
      return [text(row, 'kind').replaceAll('-', ' '), text(row, 'note').slice(0, 80)]
        .filter(Boolean)
        .join(', ');
    case 'scale_card':
      return `${text(row, 'microscope') || 'microscope not named'}, ${Number(row['um_per_px']).toPrecision(4)} µm per pixel`;
    case 'passage':
    case 'offer':
      return text(row, table === 'offer' ? 'title' : 'name');
    case 'study':
      return [text(row, 'microscope'), text(row, 'day'), text(row, 'who')].filter(Boolean).join(', ');
    case 'recording':
      return `${text(row, 'file_name')}, ${text(row, 'recorded_on')}`;
    default:
      return [text(row, 'date'), text(row, 'start_date'), text(row, 'cause'), text(row, 'text').slice(0, 80)]
        .filter(Boolean)
        .join(', ');
  }
}

const binnable = (db: Database): string[] =>
  tablesOf(db).filter((table) => columnsOf(db, table).some(({ name }) => name === 'binned_at'));

/** Newest first. */
export function listBin(db: Database): BinItem[] {
  const names = new Map(db.all('SELECT id, name FROM stylus').map((row) => [row['id'], String(row['name'])]));
  return binnable(db)
    .flatMap((table) =>
      db.all(`SELECT * FROM ${table} WHERE binned_at IS NOT NULL`).map((row) => ({
        kind: kindOf(table),
        table,
        id: String(row['id']),
        what: describe(table, row),
        stylusName: table === 'stylus' ? null : (names.get(row['stylus_id'] ?? null) ?? null),
        binnedAt: String(row['binned_at']),
      })),
    )
    .toSorted((a, b) => (a.binnedAt < b.binnedAt ? 1 : -1))
    .map(({ table, kind, ...item }) => ({ ...item, kind, called: table.replaceAll('_', ' ') }));
}

function deleteRows(db: Database, rows: RowSet): void {
  for (const { table, column, parent, parentColumn, required } of referencesOf(db)) {
    if (required) continue;
    for (const rowid of rows.get(parent) ?? [])
      db.run(
        `UPDATE ${table} SET ${column} = NULL WHERE ${column} = (SELECT ${parentColumn} FROM ${parent} WHERE rowid = ?)`,
        rowid,
      );
  }
  for (const [table, ids] of rows) {
    const hasId = columnsOf(db, table).some(({ name }) => name === 'id');
    for (const rowid of ids) {
      // Its earlier states would tell as much as the row itself did.
      if (hasId)
        db.run(
          `DELETE FROM change WHERE kind = ? AND row_id = (SELECT id FROM ${table} WHERE rowid = ?)`,
          table,
          rowid,
        );
      db.run(`DELETE FROM ${table} WHERE rowid = ?`, rowid);
    }
  }
  // A step of undo without a change left is none.
  db.run(
    "UPDATE gesture SET state = 'dropped' WHERE number NOT IN (SELECT gesture FROM change WHERE gesture IS NOT NULL)",
  );
}

/** Pictures that nothing shows any more; their rows go, their files are the caller's to remove afterwards. */
function dropOriginals(db: Database): { sha256: string; mediaType: string }[] {
  const used = referencesOf(db)
    .filter((one) => one.parent === 'original')
    .map(({ table, column }) => `SELECT ${column} FROM ${table} WHERE ${column} IS NOT NULL`)
    .join(' UNION ');
  const loose = db.all(`SELECT sha256, media_type FROM original WHERE sha256 NOT IN (${used})`);
  for (const row of loose) db.run('DELETE FROM original WHERE sha256 = ?', row['sha256'] ?? null);
  return loose.map((row) => ({ sha256: String(row['sha256']), mediaType: String(row['media_type']) }));
}

export type Destroyed = BinEmptied & { readonly files: readonly { sha256: string; mediaType: string }[] };

/** Scale cards and passages that something outside the bin still uses stay where they are. */
function isUsed(db: Database, table: string, rowid: number): boolean {
  return referencesOf(db)
    .filter((one) => one.parent === table)
    .some(
      ({ table: user, column, parentColumn }) =>
        db.get(
          `SELECT 1 FROM ${user} WHERE ${column} = (SELECT ${parentColumn} FROM ${table} WHERE rowid = ?) LIMIT 1`,
          rowid,
        ) !== undefined,
    );
}

/** Destroys what was put away before the given time (UTC), with everything that is a part of it. */
export function destroyBinned(db: Database, before: string): Destroyed {
  const binned = (tables: readonly string[]) =>
    tables.flatMap((table) =>
      db
        .all(`SELECT rowid AS at FROM ${table} WHERE binned_at IS NOT NULL AND binned_at < ?`, before)
        .map((row) => ({ table, rowid: Number(row['at']) })),
    );
  return db.transaction(() => {
    db.run('PRAGMA defer_foreign_keys = ON');
    const tables = binnable(db);
    const own = binned(tables.filter((table) => !SHARED_TABLES.includes(table)));
    if (own.length > 0) deleteRows(db, partsOf(db, own));
    const shared = binned(tables.filter((table) => SHARED_TABLES.includes(table)));
    const unused = shared.filter(({ table, rowid }) => !isUsed(db, table, rowid));
    if (unused.length > 0) deleteRows(db, partsOf(db, unused));
    const things = own.length + unused.length;
    const files = things === 0 ? [] : dropOriginals(db);
    return { things, pictures: files.length, stillUsed: shared.length - unused.length, files };
  });
}

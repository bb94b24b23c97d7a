import { randomBytes } from 'node:crypto';
import type { Database, Row, SqlValue } from './database.ts';
import { gestureNumber } from './gestures.ts';
import { isReported, keepBrief } from './lines.ts';

export type Table =
  | 'stylus'
  | 'capture'
  | 'comparison'
  | 'entry'
  | 'mark'
  | 'habit'
  | 'scale_card'
  | 'passage'
  | 'recording'
  | 'sound_comparison'
  | 'cause'
  | 'offer'
  | 'study';

export const newId = (): string => randomBytes(10).toString('hex');
export const nowUtc = (): string => new Date().toISOString();

const rowOf = (db: Database, table: Table, id: string): Row | undefined =>
  db.get(`SELECT * FROM ${table} WHERE id = ?`, id);

/** The stylus that a row belongs to; null where it belongs to none. */
const ownerOf = (table: Table, row: Row): string | null => {
  const owner = row[table === 'stylus' ? 'id' : 'stylus_id'];
  return typeof owner === 'string' ? owner : null;
};

/**
 * One change of one row together with its trace: how the row was and how it became. Must run inside a transaction, so
 * that neither is ever there without the other.
 */
export function traced(db: Database, table: Table, id: string, work: () => void): void {
  let was: SqlValue = null;
  let is: SqlValue = null;
  db.watch.rowsOf(table, () => {
    const before = rowOf(db, table, id);
    work();
    const after = rowOf(db, table, id);
    if (after === undefined) throw new Error(`${table} ${id} is gone after a change`);
    was = before === undefined ? null : JSON.stringify(before);
    is = JSON.stringify(after);
    if (was === is) return [];
    if (isReported(table)) keepBrief(db, table, id);
    // Moved from one stylus to another, it is a change of both.
    const owners = new Set([before ?? after, after].map((row) => ownerOf(table, row)));
    return [...owners].map((owner) => ({ id, owner }));
  });
  // A form saved as it was is no change, and no step of undo.
  if (was === is) return;
  db.run(
    'INSERT INTO change (at, kind, row_id, before, after, gesture) VALUES (?, ?, ?, ?, ?, ?)',
    nowUtc(),
    table,
    id,
    was,
    is,
    gestureNumber(db),
  );
}

const marks = (count: number): string => Array.from({ length: count }, () => '?').join(', ');

/** Inserts a row; `columns` as written in rows.ts. */
export function insertRow(db: Database, table: Table, id: string, columns: string, values: SqlValue[]): void {
  traced(db, table, id, () =>
    db.run(
      `INSERT INTO ${table} (id, created_at, ${columns}) VALUES (${marks(values.length + 2)})`,
      id,
      nowUtc(),
      ...values,
    ),
  );
}

/** Rows whose traces are read back and written at a stretch: SQLite takes so many parameters with ease. */
const TRACED_AT_ONCE = 500;

/**
 * Inserts many new rows as {@link insertRow} would one by one, with the same traces, in a third of the time. Must run
 * inside a transaction. Only for tables without reports.
 */
export function insertRows(
  db: Database,
  table: Table,
  columns: string,
  rows: readonly { readonly id: string; readonly values: SqlValue[] }[],
): void {
  if (rows.length === 0) return;
  if (isReported(table)) throw new Error(`insertRows: ${table} keeps briefs`);
  const at = nowUtc();
  const insert = `INSERT INTO ${table} (id, created_at, ${columns}) VALUES (${marks(rows[0].values.length + 2)})`;
  for (const { id, values } of rows) db.run(insert, id, at, ...values);
  const gesture = gestureNumber(db);
  for (let from = 0; from < rows.length; from += TRACED_AT_ONCE) {
    const ids = rows.slice(from, from + TRACED_AT_ONCE).map(({ id }) => id);
    const written = db.all(`SELECT * FROM ${table} WHERE id IN (${marks(ids.length)})`, ...ids);
    if (written.length !== ids.length) throw new Error(`${table}: rows are gone after a change`);
    for (const row of written)
      db.run(
        'INSERT INTO change (at, kind, row_id, before, after, gesture) VALUES (?, ?, ?, NULL, ?, ?)',
        at,
        table,
        String(row['id']),
        JSON.stringify(row),
        gesture,
      );
  }
}

/** Updates the named columns of a row. */
export function updateRow(db: Database, table: Table, id: string, columns: string, values: SqlValue[]): void {
  const settings = columns
    .split(',')
    .map((column) => `${column.trim()} = ?`)
    .join(', ');
  traced(db, table, id, () => db.run(`UPDATE ${table} SET ${settings} WHERE id = ?`, ...values, id));
}

/**
 * Changes and reads back in one transaction: when the reading fails, nothing was changed either, so that a person who
 * was told that it failed does not find it done.
 */
export function changeAndRead<T>(db: Database, change: () => void, read: () => T): T {
  return db.transaction(() => {
    change();
    return read();
  });
}

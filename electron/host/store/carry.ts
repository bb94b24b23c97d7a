import { Refusal } from '../../../shared/index.ts';
import { newId, traced } from './changes.ts';
import type { Table } from './changes.ts';
import { connect } from './database.ts';
import type { Database, Row, SqlValue } from './database.ts';
import { columnsOf, partsOf, referencesOf, tablesOf, withSupports } from './related.ts';
import type { RowSet } from './related.ts';

/** One stylus with everything on it, out of a copy of the database and into another database. */

type Reader = Pick<Database, 'all' | 'get'>;

const stylusPlace = (db: Reader, id: string) => {
  const at = db.get('SELECT rowid AS at FROM stylus WHERE id = ?', id)?.['at'];
  if (at === undefined) throw new Refusal('not-found', 'That stylus is not in the collection.');
  return { table: 'stylus', rowid: Number(at) };
};

/**
 * Takes everything else out of a copy, its free pages too, so that a file made for somebody else holds nothing of the
 * other styluses. The history of changes and the settings go as well.
 */
export function reduceCopy(file: string, stylusId: string): void {
  const connection = connect(file, {});
  const reader = {
    all: (sql: string, ...values: SqlValue[]) => connection.prepare(sql).all(...values) as Row[],
    get: (sql: string, ...values: SqlValue[]) => connection.prepare(sql).get(...values) as Row | undefined,
  };
  try {
    connection.exec('PRAGMA journal_mode = DELETE; PRAGMA foreign_keys = OFF; PRAGMA secure_delete = ON');
    const kept = withSupports(reader, partsOf(reader, [stylusPlace(reader, stylusId)]));
    connection.exec('BEGIN IMMEDIATE');
    for (const table of tablesOf(reader)) {
      const rowids = [...(kept.get(table) ?? [])].join(', ');
      connection.exec(`DELETE FROM ${table} WHERE rowid NOT IN (${rowids})`);
    }
    connection.exec('DELETE FROM change; DELETE FROM gesture; DELETE FROM setting');
    // Without foreign keys nothing cascades.
    connection.exec('DELETE FROM capture_brief WHERE capture_id NOT IN (SELECT id FROM capture)');
    connection.exec('DELETE FROM comparison_brief WHERE comparison_id NOT IN (SELECT id FROM comparison)');
    connection
      .prepare('UPDATE stylus SET successor_id = NULL WHERE successor_id NOT IN (SELECT id FROM stylus)')
      .run();
    connection.exec('COMMIT; VACUUM');
    if (reader.all('PRAGMA foreign_key_check').length > 0)
      throw new Error('carry: a stylus taken out by itself has broken references');
  } finally {
    connection.close();
  }
}

export type Carried = { readonly stylusId: string; readonly again: boolean };

/** Every text that names one of the old ids, also inside JSON, names the new one. */
function renamed(row: Row, names: ReadonlyMap<string, string>): Row {
  const swap = (value: SqlValue): SqlValue => {
    if (typeof value !== 'string') return value;
    const whole = names.get(value);
    if (whole !== undefined) return whole;
    if (!/^[[{]/.test(value)) return value;
    return value.replaceAll(/"([0-9a-z]{8,40})"/g, (found, id: string) =>
      names.has(id) ? `"${names.get(id)!}"` : found,
    );
  };
  return Object.fromEntries(Object.entries(row).map(([column, value]) => [column, swap(value)]));
}

type Carry = { readonly table: string; readonly row: Row; readonly isPart: boolean };

function rowsToCarry(from: Reader): Carry[] {
  const styluses = from.all('SELECT id FROM stylus');
  const [only] = styluses;
  if (only === undefined || styluses.length > 1)
    throw new Refusal('bad-archive', 'The archive does not hold exactly one stylus. Nothing was changed.');
  const parts: RowSet = partsOf(from, [stylusPlace(from, String(only['id']))]);
  return tablesOf(from).flatMap((table) =>
    from.all(`SELECT rowid AS rowid_, * FROM ${table} ORDER BY rowid`).map(({ rowid_: rowid, ...row }) => ({
      table,
      row,
      isPart: parts.get(table)?.has(Number(rowid)) ?? false,
    })),
  );
}

function insert(db: Database, { table, row, isPart }: Carry): void {
  const columns = Object.keys(row);
  const places = columns.map(() => '?').join(', ');
  const run = () =>
    void db.run(
      // A picture or a scale card that is here already is the same one: both are named by what they are.
      `INSERT ${isPart ? '' : 'OR IGNORE '}INTO ${table} (${columns.join(', ')}) VALUES (${places})`,
      ...Object.values(row),
    );
  const undoable = isPart && columnsOf(db, table).some(({ name }) => name === 'binned_at');
  if (undoable) traced(db, table as Table, String(row['id']), run);
  else run();
}

/**
 * Brings the one stylus of another database in, in one transaction. When any of its ids is taken (it was imported
 * before, or it comes from here), all of its own rows get new ones.
 */
export function carryIn(db: Database, from: Reader): Carried {
  const rows = rowsToCarry(from);
  const own = rows.filter(({ isPart, row }) => isPart && typeof row['id'] === 'string');
  const again = own.some(
    ({ table, row }) => db.get(`SELECT 1 FROM ${table} WHERE id = ?`, row['id'] ?? null) !== undefined,
  );
  const names = new Map(again ? own.map(({ row }) => [String(row['id']), newId()]) : []);
  return db.transaction(() => {
    db.run('PRAGMA defer_foreign_keys = ON');
    for (const one of rows) {
      const row = renamed(one.row, names);
      // What was given away is not in the bin, wherever it lay before.
      if (one.table === 'stylus') row['binned_at'] = null;
      // Somebody else's hands count here only when a person says so.
      if (one.table === 'study') row['counts'] = 0;
      insert(db, { ...one, row });
    }
    const stylus = own.find(({ table }) => table === 'stylus')!;
    const id = String(stylus.row['id']);
    if (referencesOf(db).length === 0) throw new Error('carry: the database names no references');
    return { stylusId: names.get(id) ?? id, again };
  });
}

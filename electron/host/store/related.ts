import type { Database, Row, SqlValue } from './database.ts';

/**
 * What belongs to what, asked of the database itself, so that a table added later is neither forgotten in an export nor
 * left behind in the bin. A reference that must not be empty means "is a part of"; one that may be empty only points.
 */
export type Reference = {
  readonly table: string;
  readonly column: string;
  readonly parent: string;
  readonly parentColumn: string;
  readonly required: boolean;
};

/**
 * The history of changes and the settings belong to the collection, not to a thing in it; briefs follow from the reports
 * that they shorten, come with every change of them and go with them.
 */
export const ASIDE_TABLES: readonly string[] = [
  'change',
  'gesture',
  'setting',
  'capture_brief',
  'comparison_brief',
];

/** Used by many things and a part of none: neither taken along by what uses it, nor the other way round. */
export const SHARED_TABLES: readonly string[] = ['original', 'scale_card', 'passage'];

export function tablesOf(db: Pick<Database, 'all'>): string[] {
  return db
    .all(
      "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY name",
    )
    .map((row) => String(row['name']))
    .filter((name) => !ASIDE_TABLES.includes(name));
}

type Column = { readonly name: string; readonly required: boolean };
export const columnsOf = (db: Pick<Database, 'all'>, table: string): Column[] =>
  db
    .all(`PRAGMA table_info(${table})`)
    .map((row) => ({ name: String(row['name']), required: row['notnull'] === 1 || Number(row['pk']) > 0 }));

export function referencesOf(db: Pick<Database, 'all'>): Reference[] {
  return tablesOf(db).flatMap((table) => {
    const required = new Set(columnsOf(db, table).flatMap((one) => (one.required ? [one.name] : [])));
    return db.all(`PRAGMA foreign_key_list(${table})`).map((row) => ({
      table,
      column: String(row['from']),
      parent: String(row['table']),
      parentColumn: String(row['to'] ?? 'id'),
      required: required.has(String(row['from'])),
    }));
  });
}

/** Rows by table and rowid. */
export type RowSet = Map<string, Set<number>>;

function add(set: RowSet, table: string, rowid: number): boolean {
  const rows = set.get(table) ?? new Set();
  set.set(table, rows);
  if (rows.has(rowid)) return false;
  rows.add(rowid);
  return true;
}

type Place = { readonly table: string; readonly rowid: number };

const rowAt = (db: Pick<Database, 'get'>, { table, rowid }: Place): Row =>
  db.get(`SELECT * FROM ${table} WHERE rowid = ?`, rowid) ?? {};

/** The given rows and everything that is a part of them, and of their parts. */
export function partsOf(db: Pick<Database, 'all' | 'get'>, seeds: readonly Place[]): RowSet {
  const references = referencesOf(db).filter((one) => one.required);
  const found: RowSet = new Map();
  const queue = seeds.filter(({ table, rowid }) => add(found, table, rowid));
  for (let place = queue.pop(); place !== undefined; place = queue.pop()) {
    const row = rowAt(db, place);
    for (const { table, column, parent, parentColumn } of references) {
      if (parent !== place.table || SHARED_TABLES.includes(parent)) continue;
      const key: SqlValue = row[parentColumn] ?? null;
      for (const child of db.all(`SELECT rowid AS at FROM ${table} WHERE ${column} = ?`, key))
        if (add(found, table, Number(child['at']))) queue.push({ table, rowid: Number(child['at']) });
    }
  }
  return found;
}

/** Adds what the rows point at (pictures, scale cards), but no other stylus. */
export function withSupports(db: Pick<Database, 'all' | 'get'>, parts: RowSet): RowSet {
  const references = referencesOf(db).filter((one) => one.parent !== 'stylus');
  const found: RowSet = new Map([...parts].map(([table, rows]) => [table, new Set(rows)]));
  const queue = [...found].flatMap(([table, rows]) => [...rows].map((rowid) => ({ table, rowid })));
  for (let place = queue.pop(); place !== undefined; place = queue.pop()) {
    const row = rowAt(db, place);
    for (const { table, column, parent, parentColumn } of references) {
      const key = table === place.table ? (row[column] ?? null) : null;
      if (key === null) continue;
      const at = db.get(`SELECT rowid AS at FROM ${parent} WHERE ${parentColumn} = ?`, key)?.['at'];
      if (at !== undefined && add(found, parent, Number(at)))
        queue.push({ table: parent, rowid: Number(at) });
    }
  }
  return found;
}

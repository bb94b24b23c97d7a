import type { Database } from './database.ts';

/**
 * A report's outlines, profile and budgets of uncertainty are nine tenths of it, and only the screen that shows that one
 * pair wants them. Where a whole stylus is read for its numbers, a brief of each report is read instead, which stands in
 * a table of its own: lists come back empty, budgets are left out, poses stay.
 */
export type Lines = 'with-lines' | 'without-lines';

export type Reported = 'capture' | 'comparison';

type Brief = {
  /** The column of the report, named alike in the table of briefs. */
  readonly column: string;
  readonly emptied: readonly string[];
};

const BRIEFS: Readonly<Record<Reported, Brief>> = {
  capture: { column: 'examination', emptied: ['contour', 'profile'] },
  comparison: { column: 'report', emptied: ['baselineContour', 'laterContour', 'profile'] },
};

/** Budgets that later engines added were in no report that the migration saw. */
const BUDGETS = [
  ...['left', 'right'].flatMap((side) =>
    ['budget', 'baselineBudget', 'changeBudget'].map((name) => `$.flats.${side}.${name}`),
  ),
  '$.tip.budget',
  '$.contour.budgets',
]
  .map((path) => `'${path}'`)
  .join(', ');

export const isReported = (table: string): table is Reported => Object.hasOwn(BRIEFS, table);

/** The brief of a report, as SQL makes it; NULL stays NULL. The migration that filled the tables says the same. */
function shortened(table: Reported): string {
  const { column, emptied } = BRIEFS[table];
  const lists = emptied.map((part) => `'$.drawing.${part}', json('[]')`).join(', ');
  return `json_remove(json_replace(${table}.${column}, ${lists}), ${BUDGETS})`;
}

/** Brings the brief of one row up to date; must run in the transaction that changed the row. */
export function keepBrief(db: Database, table: Reported, id: string): void {
  const { column } = BRIEFS[table];
  db.run(`DELETE FROM ${table}_brief WHERE ${table}_id = ?`, id);
  db.run(
    `INSERT INTO ${table}_brief (${table}_id, ${column})
     SELECT id, ${shortened(table)} FROM ${table} WHERE id = ? AND ${column} IS NOT NULL`,
    id,
  );
}

/** The report as SQL can look into it, shortened where there is a brief; the table needs {@link briefJoin}. */
export const reportIn = (table: Reported): string => {
  const { column } = BRIEFS[table];
  return `COALESCE(${table}_brief.${column}, ${table}.${column})`;
};

const known = new WeakMap<Database, Map<Reported, string>>();

/** The table's columns for a SELECT, qualified with its name; without lines they need {@link briefJoin}. */
export function columnsFor(db: Database, table: Reported, lines: Lines): string {
  if (lines === 'with-lines') return `${table}.*`;
  const kept = known.get(db) ?? new Map<Reported, string>();
  known.set(db, kept);
  const found = kept.get(table) ?? withoutLines(db, table);
  kept.set(table, found);
  return found;
}

/** Joins the briefs; a report that has none (read out of a damaged database) is shortened where it stands. */
export const briefJoin = (table: Reported, lines: Lines): string =>
  lines === 'with-lines' ? '' : `LEFT JOIN ${table}_brief ON ${table}_brief.${table}_id = ${table}.id`;

function withoutLines(db: Database, table: Reported): string {
  const { column } = BRIEFS[table];
  return db
    .all(`PRAGMA table_info(${table})`)
    .map((row) => String(row['name']))
    .map((name) =>
      name === column
        ? `COALESCE(${table}_brief.${name}, ${shortened(table)}) AS ${name}`
        : `${table}.${name}`,
    )
    .join(', ');
}

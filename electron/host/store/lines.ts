import type { Database } from './database.ts';

/**
 * A report's outlines and profile are nine tenths of it, and only the screen that draws that one pair wants them. Where
 * a whole stylus is read for its numbers they stay in the database: they come back as empty lists, poses stay.
 */
export type Lines = 'with-lines' | 'without-lines';

const EMPTIED: Readonly<
  Record<'capture' | 'comparison', readonly [column: string, parts: readonly string[]]>
> = {
  capture: ['examination', ['contour', 'profile']],
  comparison: ['report', ['baselineContour', 'laterContour', 'profile']],
};

const known = new WeakMap<Database, Map<string, string>>();

/** The table's columns for a SELECT, qualified with its name. */
export function columnsFor(db: Database, table: 'capture' | 'comparison', lines: Lines): string {
  if (lines === 'with-lines') return `${table}.*`;
  const kept = known.get(db) ?? new Map<string, string>();
  known.set(db, kept);
  const found = kept.get(table) ?? withoutLines(db, table);
  kept.set(table, found);
  return found;
}

function withoutLines(db: Database, table: 'capture' | 'comparison'): string {
  const [heavy, parts] = EMPTIED[table];
  const emptied = parts.map((part) => `'$.drawing.${part}', json('[]')`).join(', ');
  return db
    .all(`PRAGMA table_info(${table})`)
    .map((row) => String(row['name']))
    .map((name) =>
      name === heavy ? `json_replace(${table}.${name}, ${emptied}) AS ${name}` : `${table}.${name}`,
    )
    .join(', ');
}

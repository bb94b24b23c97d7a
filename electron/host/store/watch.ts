import type { SqlValue } from './database.ts';

/**
 * Which rows an answer was read from, and whether any of them changed since: read off the questions themselves, so that
 * nobody has to name what an answer depends on, and forget something. A place is a table (`entry`), or what a table
 * holds of one stylus (`entry/<id>`) where the question says so in its first condition. Only this process writes
 * (lock.ts), and always through the wrapper that asks here.
 */
export type Watch = {
  /** Grows with everything that is written. */
  readonly clock: () => number;
  readonly read: (sql: string, values: readonly SqlValue[]) => void;
  readonly wrote: (sql: string) => void;
  /** Whatever was read may be untrue: a transaction was rolled back. */
  readonly everything: () => void;
  /** Runs a change of single rows of a table; `rows` names them afterwards, and only their places count as changed. */
  readonly rowsOf: (table: string, work: () => readonly ChangedRow[]) => void;
  /** The places that `work` reads. */
  readonly noting: <T>(work: () => T) => { readonly answer: T; readonly places: ReadonlySet<string> };
  /** Passes places on to whoever is noting, for an answer that is given without asking again. */
  readonly note: (places: ReadonlySet<string>) => void;
  readonly changedSince: (places: ReadonlySet<string>, clock: number) => boolean;
  /** Ids of the rows of a place that changed since; null where that is not known row by row. */
  readonly rowsSince: (place: string, clock: number) => ReadonlySet<string> | null;
};

/** `owner`: the stylus that the row belongs to; null: to none, or to all. */
export type ChangedRow = { readonly id: string; readonly owner: string | null };

/** The brief of a report changes with its row (lines.ts). */
const tableName = (name: string): string => name.toLowerCase().replace(/_brief$/, '');

type Reads = { readonly tables: readonly string[]; readonly scoped: string | null };

/**
 * Tables of a question, and the one of which it wants the rows of a single stylus: the first one, named once, with that
 * as the first condition, which nothing widens again.
 */
export function readsOf(sql: string): Reads {
  const names = [...sql.matchAll(/\b(?:FROM|JOIN)\s+(\w+)/gi)].map((found) => found[1].toLowerCase());
  const tables = [...new Set(names.map(tableName))];
  const first = names.at(0);
  if (first === undefined) return { tables, scoped: null };
  const column = first === 'stylus' ? 'id' : 'stylus_id';
  const condition = new RegExp(`\\bWHERE\\s+(?:${first}\\.)?${column} = \\?(?=\\s|$)`, 'i').exec(sql);
  const alone = names.filter((name) => name === first).length === 1 && !/\bOR\b|\bUNION\b/i.test(sql);
  const firstValue = condition !== null && sql.indexOf('?') === condition.index + condition[0].length - 1;
  return { tables, scoped: alone && firstValue ? first : null };
}

/** The table that a statement writes; null for what is no plain writing. */
export function writesTo(sql: string): string | null {
  const found = /^\s*(?:INSERT(?:\s+OR\s+\w+)?\s+INTO|UPDATE|DELETE\s+FROM)\s+(\w+)/i.exec(sql);
  return found === null ? null : tableName(found[1]);
}

/** So many changed rows of a place are kept apart; after more of them it is read anew. */
const ROWS_KEPT = 200;
type Journal = { from: number; rows: { readonly at: number; readonly id: string }[] };

export function createWatch(): Watch {
  let clock = 0;
  let allAt = 0;
  /** When something in a place changed, and when a table changed in a way that is not known row by row. */
  const changedAt = new Map<string, number>();
  const wideAt = new Map<string, number>();
  const journals = new Map<string, Journal>();
  const questions = new Map<string, Reads>();
  const statements = new Map<string, string>();
  const noting: Set<string>[] = [];
  let byRow: string | null = null;

  const wide = (table: string): void => {
    changedAt.set(table, clock);
    wideAt.set(table, clock);
  };
  const changedRow = (table: string, { id, owner }: ChangedRow): void => {
    if (owner === null) return wide(table);
    const place = `${table}/${owner}`;
    changedAt.set(table, clock);
    changedAt.set(place, clock);
    const journal = journals.get(place) ?? { from: 0, rows: [] };
    journals.set(place, journal);
    journal.rows.push({ at: clock, id });
    while (journal.rows.length > ROWS_KEPT) journal.from = journal.rows.shift()!.at;
  };
  const everything = (): void => void (allAt = ++clock);
  const lastOf = (place: string): number => {
    const [table, owner] = place.split('/', 2);
    const own = changedAt.get(place) ?? 0;
    return owner === undefined ? own : Math.max(own, wideAt.get(table) ?? 0);
  };
  const note = (places: ReadonlySet<string>): void => {
    for (const set of noting) for (const place of places) set.add(place);
  };
  return {
    clock: () => clock,
    everything,
    read: (sql, values) => {
      if (noting.length === 0) return;
      const reads = questions.get(sql) ?? readsOf(sql);
      questions.set(sql, reads);
      for (const table of reads.tables) {
        const place = table === reads.scoped ? `${table}/${String(values[0])}` : table;
        for (const set of noting) set.add(place);
      }
    },
    wrote: (sql) => {
      clock++;
      const table = statements.get(sql) ?? writesTo(sql);
      if (table !== null) statements.set(sql, table);
      if (table === null) everything();
      else if (table !== byRow) wide(table);
    },
    rowsOf: (table, work) => {
      const before = byRow;
      byRow = table;
      try {
        const rows = work();
        clock++;
        for (const row of rows) changedRow(table, row);
      } catch (error) {
        everything();
        throw error;
      } finally {
        byRow = before;
      }
    },
    noting: (work) => {
      const places = new Set<string>();
      noting.push(places);
      try {
        return { answer: work(), places };
      } finally {
        noting.pop();
      }
    },
    note,
    changedSince: (places, since) => {
      if (since === clock) return false;
      if (allAt > since) return true;
      for (const place of places) if (lastOf(place) > since) return true;
      return false;
    },
    rowsSince: (place, since) => {
      const table = place.split('/', 1)[0];
      const journal = journals.get(place);
      if (allAt > since || (wideAt.get(table) ?? 0) > since || (journal?.from ?? 0) > since) return null;
      return new Set(journal?.rows.filter(({ at }) => at > since).map(({ id }) => id));
    },
  };
}

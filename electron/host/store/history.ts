import { entryKindSchema, Refusal } from '../../../shared/index.ts';
import type { HistoryState, HistoryStep, SteppedHistory } from '../../../shared/index.ts';
import { nowUtc, updateRow } from './changes.ts';
import type { Table } from './changes.ts';
import type { Database, Row, SqlValue } from './database.ts';
import { outsideGestures } from './gestures.ts';

/**
 * Undo and redo from the table of changes, so that they survive the program. Nothing is ever deleted: a row that came
 * in goes to the bin. Only the columns that a step changed are put back, so that what happened elsewhere in the same
 * row stays; where somebody changed the same thing again since, the step is refused instead of overwriting it.
 */
type Way = 'undo' | 'redo';
type Change = {
  readonly table: Table;
  readonly id: string;
  readonly before: Row | null;
  readonly after: Row;
};

/** Results can be measured again: where they no longer belong they are forgotten, not put back. */
const RESULTS = new Set(['examination', 'cantilever']);

function stepOf(row: Row | undefined): HistoryStep | null {
  if (row === undefined) return null;
  return { number: Number(row['number']), title: String(row['title']), at: String(row['at']) };
}

const NEXT: Readonly<Record<Way, string>> = {
  undo: "SELECT number, title, at FROM gesture WHERE state = 'done' ORDER BY number DESC LIMIT 1",
  redo: "SELECT number, title, at FROM gesture WHERE state = 'undone' ORDER BY number LIMIT 1",
};

export const historyState = (db: Database): HistoryState => ({
  undo: stepOf(db.get(NEXT.undo)),
  redo: stepOf(db.get(NEXT.redo)),
});

function stepFor(db: Database, way: Way, number: number | null): HistoryStep {
  const state = way === 'undo' ? 'done' : 'undone';
  const row =
    number === null
      ? db.get(NEXT[way])
      : db.get('SELECT number, title, at FROM gesture WHERE number = ? AND state = ?', number, state);
  const step = stepOf(row);
  if (step !== null) return step;
  throw new Refusal(
    'nothing-there',
    way === 'undo' ? 'There is nothing to take back.' : 'There is nothing to do again.',
  );
}

function changesOf(db: Database, number: number): Change[] {
  return db
    .all('SELECT kind, row_id, before, after FROM change WHERE gesture = ? ORDER BY number', number)
    .map((row) => ({
      table: String(row['kind']) as Table,
      id: String(row['row_id']),
      before: row['before'] === null ? null : (JSON.parse(String(row['before'])) as Row),
      after: JSON.parse(String(row['after'])) as Row,
    }));
}

/** Column by column from how the row is to how it shall be; null = nothing to do. */
function wanted(now: Row, from: Row, to: Row): Row | null {
  const change: Row = {};
  for (const [column, value] of Object.entries(to)) {
    if (value === from[column] || now[column] === value) continue;
    if (now[column] === from[column]) change[column] = value;
    else if (RESULTS.has(column)) change[column] = null;
    else
      throw new Refusal(
        'changed-since',
        'The same thing was changed again since, so this step cannot be taken back by itself. Take back the later steps first.',
      );
  }
  return Object.keys(change).length === 0 ? null : change;
}

function apply(db: Database, way: Way, { table, id, before, after }: Change): void {
  const now = db.get(`SELECT * FROM ${table} WHERE id = ?`, id);
  if (now === undefined) throw new Error(`history: ${table} ${id} is gone`);
  const made: Row | null =
    before === null
      ? // A row that came in: into the bin and out of it.
        { binned_at: way === 'undo' ? nowUtc() : null }
      : way === 'undo'
        ? wanted(now, after, before)
        : wanted(now, before, after);
  if (made === null) return;
  const values: SqlValue[] = Object.values(made);
  updateRow(db, table, id, Object.keys(made).join(', '), values);
}

export type Stepped = {
  readonly step: SteppedHistory;
  /** Styluses on which something changed; null among them = the shelf itself. */
  readonly changed: readonly (string | null)[];
};

/** What a step was about: the styluses by name, and the kind of an entry where it was one. */
function aboutOf(db: Database, changes: readonly Change[]): Omit<SteppedHistory, keyof HistoryStep> {
  const ids = changes.map(({ table, id, after }) => (table === 'stylus' ? id : after['stylus_id']));
  const styluses = [...new Set(ids)].flatMap((id) => {
    const name = typeof id === 'string' ? db.get('SELECT name FROM stylus WHERE id = ?', id)?.['name'] : null;
    return typeof id === 'string' && typeof name === 'string' ? [{ id, name }] : [];
  });
  const [only, ...more] = changes;
  const kind = entryKindSchema.safeParse(
    only?.table === 'entry' && more.length === 0 ? only.after['kind'] : null,
  );
  return { styluses, entryKind: kind.success ? kind.data : null };
}

/** Takes a step back, or does it again: the next one, or one named by its number. */
export function stepHistory(db: Database, way: Way, number: number | null): Stepped {
  return outsideGestures(() =>
    db.transaction(() => {
      const step = stepFor(db, way, number);
      const changes = changesOf(db, step.number);
      for (const change of way === 'undo' ? changes.toReversed() : changes) apply(db, way, change);
      db.run(
        'UPDATE gesture SET state = ? WHERE number = ?',
        way === 'undo' ? 'undone' : 'done',
        step.number,
      );
      const changed = changes.map(({ table, after }) =>
        // What belongs to no stylus (a scale card) is told as the shelf.
        table === 'stylus' ? null : ((after['stylus_id'] ?? null) as string | null),
      );
      return { step: { ...step, ...aboutOf(db, changes) }, changed: [...new Set(changed)] };
    }),
  );
}

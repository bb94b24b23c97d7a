import { AsyncLocalStorage } from 'node:async_hooks';
import type { Database } from './database.ts';

/**
 * One gesture of a person - a form saved, a drag, a batch of pictures added - is one step of undo, however many rows it
 * changes. What runs inside `asGesture` belongs to it, across awaits too; what the program does on its own accord
 * belongs to none and cannot be taken back.
 */
type Gesture = { readonly title: string; readonly key: string | null; number: number | null };

const running = new AsyncLocalStorage<Gesture | null>();

/** `key` joins what belongs together although it comes in several calls: thirty pictures added, a mark nudged along. */
export function asGesture<T>(title: string, key: string | null, work: () => T): T {
  return running.run({ title, key, number: null }, work);
}

/** For what goes on in the background after the person's own call has ended. */
export const outsideGestures = <T>(work: () => T): T => running.run(null, work);

type Known = { readonly number: number; readonly key: string | null };

function newestDone(db: Database): Known | null {
  const row = db.get("SELECT number, key FROM gesture WHERE state = 'done' ORDER BY number DESC LIMIT 1");
  return row === undefined ? null : { number: Number(row['number']), key: row['key'] as string | null };
}

/** The gesture that a change being written belongs to; makes its row with the first change. Inside a transaction. */
export function gestureNumber(db: Database): number | null {
  const gesture = running.getStore() ?? null;
  if (gesture === null) return null;
  // The row may have gone with a transaction that failed.
  const kept =
    gesture.number !== null && db.get('SELECT 1 FROM gesture WHERE number = ?', gesture.number) !== undefined;
  if (!kept) gesture.number = joined(db, gesture) ?? begun(db, gesture);
  return gesture.number;
}

function joined(db: Database, { key }: Gesture): number | null {
  const newest = newestDone(db);
  return key !== null && newest?.key === key ? newest.number : null;
}

function begun(db: Database, { title, key }: Gesture): number {
  // Something new was done: what had been taken back before can no longer be done again.
  db.run("UPDATE gesture SET state = 'dropped' WHERE state = 'undone'");
  db.run(
    "INSERT INTO gesture (at, title, key, state) VALUES (?, ?, ?, 'done')",
    new Date().toISOString(),
    title,
    key,
  );
  return Number(db.get('SELECT max(number) AS number FROM gesture')?.['number']);
}

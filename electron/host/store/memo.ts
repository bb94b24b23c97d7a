import type { Database } from './database.ts';

/**
 * Answers that follow from the database alone, kept until anything in it is written: the window asks for the shelf at
 * every step from screen to screen, and nothing changes between most of them. Only this process writes (lock.ts).
 */
type Kept = { stamp: number; readonly answers: Map<string, unknown> };
const kept = new WeakMap<Database, Kept>();

/**
 * `key` names the question with everything it depends on besides the database (the day, for one). Callers must not
 * change what they are given.
 */
export function remembered<T>(db: Database, key: string, compute: () => T): T {
  const stamp = db.stamp();
  let mine = kept.get(db);
  if (mine === undefined || mine.stamp !== stamp) kept.set(db, (mine = { stamp, answers: new Map() }));
  const known = mine.answers.get(key);
  if (known !== undefined) return known as T;
  const answer = compute();
  // Something that was written on the way belongs to another state.
  if (db.stamp() === stamp) mine.answers.set(key, answer);
  return answer;
}

/** Whole histories weigh megabytes: the last few are kept, for the questions that one screen asks one after the other. */
const FEW = 3;

/** Like {@link remembered}, for answers of which only the last few are worth their memory. */
export function rememberedFew<T>(db: Database, kind: string, key: string, compute: () => T): T {
  const few = remembered(db, `few ${kind}`, () => new Map<string, T>());
  const known = few.get(key);
  if (known !== undefined) return known;
  const stamp = db.stamp();
  const answer = compute();
  if (db.stamp() === stamp) few.set(key, answer);
  if (few.size > FEW) few.delete(few.keys().next().value!);
  return answer;
}

import type { Database } from './database.ts';

/**
 * Answers that follow from the database alone, kept until a row that they were read from changes (watch.ts): the window
 * asks for the shelf and for ten years of entries at every step from screen to screen, and one more entry on one stylus
 * makes nothing else untrue.
 */
type Kept = { at: number; readonly places: ReadonlySet<string>; readonly answer: unknown };
const kept = new WeakMap<Database, Map<string, Kept>>();

/** An answer that is out of date, and the watch's clock at which it was true. */
export type Before<T> = { readonly answer: T; readonly at: number };

/** More than a large collection asks for; the oldest ones make room. */
const MOST = 4000;

/**
 * `key` names the question with everything it depends on besides the database (the day, for one). Callers must not
 * change what they are given. `compute` may build on the last answer where it knows which rows changed since.
 */
export function remembered<T>(db: Database, key: string, compute: (before: Before<T> | null) => T): T {
  const { watch } = db;
  const mine = kept.get(db) ?? new Map<string, Kept>();
  kept.set(db, mine);
  const known = mine.get(key);
  if (known !== undefined && !watch.changedSince(known.places, known.at)) {
    known.at = watch.clock();
    watch.note(known.places);
    return known.answer as T;
  }
  const at = watch.clock();
  const { answer, places } = watch.noting(() => compute((known as Before<T> | undefined) ?? null));
  // Something that was written on the way belongs to another state.
  if (!watch.changedSince(places, at)) {
    mine.delete(key);
    mine.set(key, { at, places, answer });
    if (mine.size > MOST) mine.delete(mine.keys().next().value!);
  }
  return answer;
}

/** Whole histories weigh megabytes: the last few are kept, for the questions that one screen asks one after the other. */
const FEW = 3;
const recent = new WeakMap<Database, Map<string, string[]>>();

/** Like {@link remembered}, for answers of which only the last few are worth their memory. */
export function rememberedFew<T>(
  db: Database,
  kind: string,
  key: string,
  compute: (before: Before<T> | null) => T,
): T {
  const kinds = recent.get(db) ?? new Map<string, string[]>();
  recent.set(db, kinds);
  const keys = (kinds.get(kind) ?? []).filter((other) => other !== key);
  kinds.set(kind, [...keys, key].slice(-FEW));
  if (keys.length >= FEW) kept.get(db)?.delete(`${kind} ${keys[0]}`);
  return remembered(db, `${kind} ${key}`, compute);
}

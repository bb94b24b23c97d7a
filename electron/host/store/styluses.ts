import { Refusal } from '../../../shared/index.ts';
import type { Capture, Comparison, Entry, Stylus, StylusDraft, StylusPage } from '../../../shared/index.ts';
import { capturesOf, readCapture } from './captures.ts';
import { changeAndRead, insertRow, newId, updateRow } from './changes.ts';
import { comparisonsOf } from './comparisons.ts';
import type { Database } from './database.ts';
import type { Lines } from './lines.ts';
import { marksOf } from './marks.ts';
import { rememberedFew, type Before } from './memo.ts';
import { habitsOf, hoursUpTo } from './hours.ts';
import { siblingsOf } from './siblings.ts';
import { ENTRY_COLUMNS, STYLUS_COLUMNS, entryOf, entryValues, stylusOf, stylusValues } from './rows.ts';

export function readStylus(db: Database, id: string): Stylus {
  const row = db.get('SELECT * FROM stylus WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That stylus is not in the collection.');
  return stylusOf(row);
}

export function createStylus(db: Database, draft: StylusDraft, demo = false): Stylus {
  const id = newId();
  return changeAndRead(
    db,
    () => insertRow(db, 'stylus', id, `${STYLUS_COLUMNS}, demo`, [...stylusValues(draft), demo ? 1 : 0]),
    () => readStylus(db, id),
  );
}

export function updateStylus(db: Database, id: string, draft: StylusDraft): Stylus {
  readStylus(db, id);
  return changeAndRead(
    db,
    () => updateRow(db, 'stylus', id, STYLUS_COLUMNS, stylusValues(draft)),
    () => readStylus(db, id),
  );
}

export function retireStylus(
  db: Database,
  id: string,
  end: { date: string; reason: string; successorId: string | null },
): Stylus {
  const before = readStylus(db, id);
  if (end.successorId === id) throw new Refusal('bad-input', 'A stylus cannot follow itself.');
  const next = end.successorId === null ? null : readStylus(db, end.successorId);
  const newNext = next !== null && before.retired?.successorId !== next.id ? next : null;
  // Both timelines say it: one that it ended and why, the other what it follows.
  const say = (stylusId: string, text: string): void => {
    const draft = { stylusId, kind: 'replacement' as const, date: end.date, played: null, text };
    insertRow(db, 'entry', newId(), ENTRY_COLUMNS, entryValues(draft));
  };
  return changeAndRead(
    db,
    () => {
      updateRow(db, 'stylus', id, 'retired_date, retired_reason, successor_id', [
        end.date,
        end.reason,
        end.successorId,
      ]);
      if (before.retired === null)
        say(id, `Retired: ${end.reason}.${next === null ? '' : ` Followed by “${next.name}”.`}`);
      if (newNext !== null) say(newNext.id, `Follows “${before.name}” on the same cartridge.`);
    },
    () => readStylus(db, id),
  );
}

/** Remembered: page, advice and sheet ask for the same ten years of entries one after the other. */
const entriesOf = (db: Database, stylusId: string): Entry[] =>
  rememberedFew<Entry[]>(
    db,
    'entries',
    stylusId,
    (before) => renewedEntries(db, stylusId, before) ?? readEntries(db, stylusId),
  );

const IN_ORDER = 'ORDER BY date, created_at, id';

function readEntries(db: Database, stylusId: string): Entry[] {
  return db.mapped(
    entryOf,
    `SELECT * FROM entry WHERE stylus_id = ? AND binned_at IS NULL ${IN_ORDER}`,
    stylusId,
  );
}

/** The last list with only those rows read again that changed since; null where that is not known. */
function renewedEntries(db: Database, stylusId: string, before: Before<Entry[]> | null): Entry[] | null {
  const changed = before === null ? null : db.watch.rowsSince(`entry/${stylusId}`, before.at);
  if (before === null || changed === null) return null;
  const fresh = [...changed].flatMap((id) =>
    db
      .all('SELECT * FROM entry WHERE stylus_id = ? AND id = ? AND binned_at IS NULL', stylusId, id)
      .map(entryOf),
  );
  const entries = before.answer.filter(({ id }) => !changed.has(id));
  // Texts of ASCII compare here as they do in the database.
  const isBefore = (a: Entry, b: Entry): boolean =>
    a.date !== b.date
      ? a.date < b.date
      : a.createdAt !== b.createdAt
        ? a.createdAt < b.createdAt
        : a.id < b.id;
  for (const entry of fresh) {
    const at = entries.findLastIndex((other) => isBefore(other, entry));
    entries.splice(at + 1, 0, entry);
  }
  return entries;
}

/** What may stand in, and what already does, though its stylus may have played since it was chosen. */
function siblings(
  db: Database,
  stylus: Stylus,
  captures: Capture[],
  comparisons: Comparison[],
  lines: Lines,
): Capture[] {
  const offered = siblingsOf(db, stylus, lines);
  const known = new Set([...captures, ...offered].map(({ id }) => id));
  const used = [...new Set(comparisons.map(({ baselineId }) => baselineId))].filter((id) => !known.has(id));
  return [...offered, ...used.map((id) => readCapture(db, id, lines))];
}

export function stylusPage(db: Database, id: string, lines: Lines = 'with-lines'): StylusPage {
  const stylus = readStylus(db, id);
  const captures = capturesOf(db, id, lines);
  const comparisons = comparisonsOf(db, id, lines);
  return {
    stylus,
    captures,
    comparisons,
    entries: entriesOf(db, id),
    marks: marksOf(db, id),
    habits: habitsOf(db, id),
    siblings: siblings(db, stylus, captures, comparisons, lines),
    hoursNow: hoursUpTo(db, id, null),
  };
}

export const listOfStyluses = (db: Database): Stylus[] =>
  db.all('SELECT * FROM stylus WHERE binned_at IS NULL ORDER BY created_at, id').map(stylusOf);

import { Refusal } from '../../../shared/index.ts';
import type { Binnable, Entry, EntryDraft } from '../../../shared/index.ts';
import { changeAndRead, insertRow, newId, nowUtc, updateRow } from './changes.ts';
import type { Table } from './changes.ts';
import type { Database, SqlValue } from './database.ts';
import { ENTRY_COLUMNS, entryOf, entryValues } from './rows.ts';

export function readEntry(db: Database, id: string): Entry {
  const row = db.get('SELECT * FROM entry WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That entry is not in the collection.');
  return entryOf(row);
}

function assertComplete(draft: EntryDraft): void {
  if (draft.kind === 'playing' && draft.played === null)
    throw new Refusal('bad-input', 'Playing time wants an amount.');
}

export function addEntry(db: Database, draft: EntryDraft): Entry {
  assertComplete(draft);
  const id = newId();
  return changeAndRead(
    db,
    () => insertRow(db, 'entry', id, ENTRY_COLUMNS, entryValues(draft)),
    () => readEntry(db, id),
  );
}

export function updateEntry(db: Database, id: string, draft: EntryDraft): Entry {
  assertComplete(draft);
  readEntry(db, id);
  return changeAndRead(
    db,
    () => updateRow(db, 'entry', id, ENTRY_COLUMNS, entryValues(draft)),
    () => readEntry(db, id),
  );
}

const TABLES: Readonly<Record<Binnable, Table>> = {
  stylus: 'stylus',
  capture: 'capture',
  comparison: 'comparison',
  entry: 'entry',
  mark: 'mark',
  'scale-card': 'scale_card',
  passage: 'passage',
  recording: 'recording',
  'sound-comparison': 'sound_comparison',
  offer: 'offer',
  habit: 'habit',
  study: 'study',
};

/** A study takes its pictures along: without it they would be looks at the wear. One that was taken out before stays. */
function binPictures(
  db: Database,
  studyId: string,
  { from, to }: { readonly from: SqlValue; readonly to: SqlValue },
): void {
  const captures = db.all(
    'SELECT id FROM study_capture JOIN capture ON capture.id = capture_id WHERE study_id = ? AND binned_at IS ?',
    studyId,
    from,
  );
  for (const { id } of captures) updateRow(db, 'capture', String(id), 'binned_at', [to]);
}

/** Into the bin or out of it; returns the stylus whose page changes, null when it is about all of them. */
export function setBinned(db: Database, kind: Binnable, id: string, binned: boolean): string | null {
  const table = TABLES[kind];
  const row = db.get(`SELECT * FROM ${table} WHERE id = ?`, id);
  if (row === undefined)
    throw new Refusal('not-found', `That ${kind.replace('-', ' ')} is not in the collection.`);
  db.transaction(() => {
    const at = nowUtc();
    updateRow(db, table, id, 'binned_at', [binned ? at : null]);
    if (kind === 'study')
      binPictures(db, id, binned ? { from: null, to: at } : { from: row['binned_at'] ?? null, to: null });
  });
  const forAll = kind === 'stylus' || kind === 'scale-card' || kind === 'passage' || kind === 'offer';
  return forAll ? null : String(row['stylus_id']);
}

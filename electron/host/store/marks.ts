import { Refusal, markSchema } from '../../../shared/index.ts';
import type { Mark, MarkDraft } from '../../../shared/index.ts';
import { readCapture } from './captures.ts';
import { changeAndRead, insertRow, newId, updateRow } from './changes.ts';
import type { Database, Row, SqlValue } from './database.ts';
import { fromJson } from './rows.ts';

/** Marks of a stylus: what somebody saw in a picture, and what somebody did not believe. */
const json = (value: SqlValue | undefined): unknown => (typeof value === 'string' ? JSON.parse(value) : null);

function markOf(row: Row): Mark {
  return markSchema.parse({
    id: row['id'],
    stylusId: row['stylus_id'],
    captureId: row['capture_id'],
    view: row['view'],
    kind: row['kind'],
    state: row['state'],
    frame: row['frame'],
    unit: row['unit'],
    shape: json(row['shape']),
    size: json(row['size']),
    note: row['note'],
    seenBy: row['seen_by'],
    seenOn: row['seen_on'],
    proposed: json(row['proposed']),
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
  });
}

const COLUMNS =
  'stylus_id, capture_id, view, kind, state, frame, unit, shape, size, note, seen_by, seen_on, proposed';

const valuesOf = (draft: MarkDraft): SqlValue[] => [
  draft.stylusId,
  draft.captureId,
  draft.view,
  draft.kind,
  draft.state,
  draft.frame,
  draft.unit,
  JSON.stringify(draft.shape),
  fromJson(draft.size),
  draft.note,
  draft.seenBy,
  draft.seenOn,
  fromJson(draft.proposed),
];

export function readMark(db: Database, id: string): Mark {
  const row = db.get('SELECT * FROM mark WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That mark is not in the collection.');
  return markOf(row);
}

/** All marks of a stylus that are not in the bin, by the day they were seen; those of binned pictures go with them. */
export function marksOf(db: Database, stylusId: string): Mark[] {
  return db
    .all(
      `SELECT mark.* FROM mark JOIN capture ON capture.id = capture_id
       WHERE mark.stylus_id = ? AND mark.binned_at IS NULL AND capture.binned_at IS NULL
       ORDER BY seen_on, mark.created_at, mark.id`,
      stylusId,
    )
    .map(markOf);
}

/** A mark belongs to the picture it was made on, and that picture to the same stylus and view. */
function assertFits(db: Database, draft: MarkDraft): void {
  const capture = readCapture(db, draft.captureId);
  if (capture.stylusId !== draft.stylusId)
    throw new Refusal('bad-input', 'The mark and its picture belong to different styluses.');
  if (capture.view !== draft.view)
    throw new Refusal('bad-input', 'The mark and its picture are of different views.');
}

export function addMark(db: Database, draft: MarkDraft): Mark {
  assertFits(db, draft);
  const id = newId();
  return changeAndRead(
    db,
    () => insertRow(db, 'mark', id, COLUMNS, valuesOf(draft)),
    () => readMark(db, id),
  );
}

export function updateMark(db: Database, id: string, draft: MarkDraft): Mark {
  const before = readMark(db, id);
  if (before.stylusId !== draft.stylusId)
    throw new Refusal('bad-input', 'A mark stays with its stylus. Make a new one on the other stylus.');
  assertFits(db, draft);
  return changeAndRead(
    db,
    () => updateRow(db, 'mark', id, COLUMNS, valuesOf(draft)),
    () => readMark(db, id),
  );
}

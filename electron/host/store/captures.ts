import { Refusal } from '../../../shared/index.ts';
import type { CameraRecord, CantileverReport, Capture, ExaminationReport } from '../../../shared/index.ts';
import { changeAndRead, insertRow, newId, nowUtc, updateRow } from './changes.ts';
import type { Database } from './database.ts';
import type { Lines } from './lines.ts';
import { rememberedFew } from './memo.ts';
import { CAPTURE_COLUMNS, captureOf, captureSelect, captureValues, fromJson } from './rows.ts';
import type { CaptureFacts } from './rows.ts';

/** A picture file whose bytes lie in originals/ already. */
export type OriginalFile = {
  readonly sha256: string;
  readonly mediaType: string;
  readonly byteLength: number;
  readonly widthPx: number;
  readonly heightPx: number;
};

export type NewCapture = CaptureFacts & {
  readonly stylusId: string;
  readonly fileName: string;
  readonly original: OriginalFile;
  readonly camera?: CameraRecord | undefined;
  /** Pictures kept behind it, in their order. */
  readonly parts?: readonly OriginalFile[];
  /** The repeatability study that it belongs to. */
  readonly studyId?: string | undefined;
};

export function readCapture(db: Database, id: string, lines: Lines = 'with-lines'): Capture {
  const row = db.get(`${captureSelect(db, lines)} WHERE capture.id = ?`, id);
  if (row === undefined) throw new Refusal('not-found', 'That capture is not in the collection.');
  return captureOf(row);
}

/** Pictures of a repeatability study are no looks at the wear: only the study shows them. */
export const NO_STUDY = 'AND capture.id NOT IN (SELECT capture_id FROM study_capture)';

/** Oldest first, undated last. Wall times of one camera sort as text. */
export const IN_ORDER = 'capture.taken_wall IS NULL, capture.taken_wall, capture.created_at, capture.id';

export function capturesOf(db: Database, stylusId: string, lines: Lines = 'with-lines'): Capture[] {
  if (lines === 'with-lines') return readCaptures(db, stylusId, lines);
  return rememberedFew(db, 'captures', stylusId, () => readCaptures(db, stylusId, lines));
}

function readCaptures(db: Database, stylusId: string, lines: Lines): Capture[] {
  return db.mapped(
    captureOf,
    `${captureSelect(db, lines)} WHERE capture.stylus_id = ? AND capture.binned_at IS NULL ${NO_STUDY}
     ORDER BY ${IN_ORDER}`,
    stylusId,
  );
}

/** Media type of every stored original by its hash. */
export function knownOriginals(db: Database): Map<string, string> {
  return new Map(
    db
      .all('SELECT sha256, media_type FROM original')
      .map((row) => [String(row['sha256']), String(row['media_type'])]),
  );
}

export function captureWithContent(
  db: Database,
  sha256: string,
): { captureId: string; stylusName: string } | null {
  const row = db.get(
    `SELECT capture.id, stylus.name FROM capture JOIN stylus ON stylus.id = stylus_id
     WHERE sha256 = ? AND capture.binned_at IS NULL AND stylus.binned_at IS NULL ORDER BY capture.created_at`,
    sha256,
  );
  return row === undefined ? null : { captureId: String(row['id']), stylusName: String(row['name']) };
}

/** A stylus has one baseline for each view; naming another one takes the mark from the first. */
function clearOtherBaselines(db: Database, stylusId: string, view: string, id: string): void {
  const others = db.all(
    'SELECT id FROM capture WHERE stylus_id = ? AND view = ? AND is_baseline = 1 AND id <> ?',
    stylusId,
    view,
    id,
  );
  for (const row of others) updateRow(db, 'capture', String(row['id']), 'is_baseline', [0]);
}

/** Inside the caller's transaction; the same content twice is one row. */
export function insertOriginal(db: Database, original: OriginalFile): void {
  db.run(
    'INSERT INTO original VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (sha256) DO NOTHING',
    original.sha256,
    original.mediaType,
    original.byteLength,
    original.widthPx,
    original.heightPx,
    nowUtc(),
  );
}

/** Hash and media type of one of the pictures kept behind a capture; refuses a number that is not there. */
export function readPart(db: Database, id: string, number: number): { sha256: string; mediaType: string } {
  const row = db.get(
    'SELECT sha256, media_type FROM capture_part JOIN original USING (sha256) WHERE capture_id = ? AND number = ?',
    id,
    number,
  );
  if (row === undefined) throw new Refusal('not-found', 'There is no such picture behind this one.');
  return { sha256: String(row['sha256']), mediaType: String(row['media_type']) };
}

export function addCapture(db: Database, capture: NewCapture): Capture {
  const id = newId();
  const { original, parts = [] } = capture;
  assertCard(db, capture);
  const change = () => {
    for (const one of [original, ...parts]) insertOriginal(db, one);
    insertRow(db, 'capture', id, `stylus_id, sha256, file_name, camera, ${CAPTURE_COLUMNS}`, [
      capture.stylusId,
      original.sha256,
      capture.fileName,
      fromJson(capture.camera ?? null),
      ...captureValues(capture),
    ]);
    for (const [number, part] of parts.entries())
      db.run('INSERT INTO capture_part VALUES (?, ?, ?)', id, number, part.sha256);
    if (capture.isBaseline) clearOtherBaselines(db, capture.stylusId, capture.view, id);
    if (capture.studyId !== undefined) linkToStudy(db, capture.studyId, id, capture);
  };
  return changeAndRead(db, change, () => readCapture(db, id));
}

function linkToStudy(db: Database, studyId: string, id: string, capture: NewCapture): void {
  const study = db.get('SELECT stylus_id FROM study WHERE id = ? AND binned_at IS NULL', studyId);
  if (study === undefined) throw new Refusal('not-found', 'That study is not in the collection.');
  if (study['stylus_id'] !== capture.stylusId || capture.view !== 'front' || capture.isBaseline)
    throw new Refusal(
      'bad-input',
      'A study holds front views of its own stylus, and none of them is a baseline.',
    );
  const again = db.get(
    `SELECT 1 FROM study_capture JOIN capture ON capture.id = capture_id
     WHERE study_id = ? AND sha256 = ? AND binned_at IS NULL`,
    studyId,
    capture.original.sha256,
  );
  if (again !== undefined)
    throw new Refusal(
      'bad-input',
      'The same picture is in this study already. Take the stylus out, put it back and take a new one.',
    );
  db.run('INSERT INTO study_capture VALUES (?, ?)', id, studyId);
}

/** The card may have been named by a window that does not know yet that it is gone. */
function assertCard(db: Database, { scale }: CaptureFacts): void {
  const id = scale?.card?.id;
  if (id !== undefined && db.get('SELECT 1 FROM scale_card WHERE id = ?', id) === undefined)
    throw new Refusal(
      'not-found',
      'The card of that scale is not in the collection. Choose the scale again.',
    );
}

const sameScale = (a: Capture['scale'], b: Capture['scale']): boolean =>
  a?.umPerPx === b?.umPerPx && a?.standardUmPerPx === b?.standardUmPerPx;

export function updateCapture(db: Database, id: string, facts: CaptureFacts): Capture {
  const before = readCapture(db, id);
  assertCard(db, facts);
  const stillHolds = before.view === facts.view && sameScale(before.scale, facts.scale);
  const change = () => {
    updateRow(db, 'capture', id, CAPTURE_COLUMNS, captureValues(facts));
    // A result made with another scale or view is no longer this picture's.
    if (!stillHolds) updateRow(db, 'capture', id, 'examination, cantilever', [null, null]);
    if (facts.isBaseline) clearOtherBaselines(db, before.stylusId, facts.view, id);
  };
  return changeAndRead(db, change, () => readCapture(db, id));
}

export function storeResult(
  db: Database,
  id: string,
  column: 'examination' | 'cantilever',
  report: ExaminationReport | CantileverReport,
): Capture {
  return changeAndRead(
    db,
    () => updateRow(db, 'capture', id, column, [fromJson(report)]),
    () => readCapture(db, id),
  );
}

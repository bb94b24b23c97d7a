import { takesOf } from '../../../core/listening/index.ts';
import {
  CAUSES,
  Refusal,
  causeAnswerSchema,
  passageSchema,
  recordingSchema,
  soundComparisonSchema,
} from '../../../shared/index.ts';
import type {
  CauseAnswer,
  ListeningPage,
  Passage,
  PassageDraft,
  PassageReport,
  Recording,
  SoundComparison,
  SoundOffered,
  ToneReport,
} from '../../../shared/index.ts';
import { insertOriginal } from './captures.ts';
import { changeAndRead, insertRow, newId, updateRow } from './changes.ts';
import type { Database, Row, SqlValue } from './database.ts';

/** Passages, recordings, what was measured on them, and the causes that were ruled out. */
const json = (value: SqlValue | undefined): unknown => (typeof value === 'string' ? JSON.parse(value) : null);

const passageOf = (row: Row): Passage =>
  passageSchema.parse({
    id: row['id'],
    kind: row['kind'],
    name: row['name'],
    place: row['place'],
    groove: row['groove'],
    toneHz: row['tone_hz'],
    cutOn: row['cut_on'],
    notes: row['notes'],
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
  });
const PASSAGE_COLUMNS = 'kind, name, place, groove, tone_hz, cut_on, notes';
const passageValues = (draft: PassageDraft): SqlValue[] => [
  draft.kind,
  draft.name,
  draft.place,
  draft.groove,
  draft.toneHz,
  draft.cutOn,
  draft.notes,
];

export function readPassage(db: Database, id: string): Passage {
  const row = db.get('SELECT * FROM passage WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That passage is not in the collection.');
  return passageOf(row);
}

function assertComplete(draft: PassageDraft): void {
  if (draft.kind === 'tone' && draft.toneHz === null)
    throw new Refusal('bad-input', 'A test band wants its frequency.');
}

export function addPassage(db: Database, draft: PassageDraft): Passage {
  assertComplete(draft);
  const id = newId();
  return changeAndRead(
    db,
    () => insertRow(db, 'passage', id, PASSAGE_COLUMNS, passageValues(draft)),
    () => readPassage(db, id),
  );
}

export function updatePassage(db: Database, id: string, draft: PassageDraft): Passage {
  assertComplete(draft);
  const before = readPassage(db, id);
  const change = () => {
    updateRow(db, 'passage', id, PASSAGE_COLUMNS, passageValues(draft));
    if (before.toneHz === draft.toneHz && before.cutOn === draft.cutOn && before.kind === draft.kind) return;
    // What was measured with another frequency or channel is no longer this band's.
    for (const row of db.all('SELECT id FROM recording WHERE passage_id = ? AND tone IS NOT NULL', id))
      updateRow(db, 'recording', String(row['id']), 'tone, engine_version', [null, null]);
  };
  return changeAndRead(db, change, () => readPassage(db, id));
}

const recordingOf = (row: Row): Recording =>
  recordingSchema.parse({
    id: row['id'],
    stylusId: row['stylus_id'],
    passageId: row['passage_id'],
    sha256: row['sha256'],
    fileName: row['file_name'],
    recordedOn: row['recorded_on'],
    cleaning: row['cleaning'],
    notes: row['notes'],
    sampleRate: row['sample_rate'],
    channelCount: row['channel_count'],
    bits: row['bits'],
    float: row['float'] === 1,
    seconds: row['seconds'],
    tone: json(row['tone']),
    engineVersion: row['engine_version'],
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
  });

export function readRecording(db: Database, id: string): Recording {
  const row = db.get('SELECT * FROM recording WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That recording is not in the collection.');
  return recordingOf(row);
}

export type NewRecording = Pick<Recording, 'stylusId' | 'passageId' | 'recordedOn' | 'cleaning' | 'notes'>;

/** The file must lie in originals/ already. */
export function addRecording(
  db: Database,
  facts: NewRecording,
  sound: Omit<SoundOffered, 'token' | 'warnings' | 'peakDb'> & { readonly byteLength: number },
): Recording {
  const id = newId();
  const change = () => {
    const { sha256, byteLength } = sound;
    insertOriginal(db, { sha256, mediaType: 'audio/wav', byteLength, widthPx: 0, heightPx: 0 });
    insertRow(
      db,
      'recording',
      id,
      'stylus_id, passage_id, sha256, file_name, recorded_on, cleaning, notes, sample_rate, channel_count, bits, float, seconds',
      [
        facts.stylusId,
        facts.passageId,
        sha256,
        sound.fileName,
        facts.recordedOn,
        facts.cleaning,
        facts.notes,
        sound.sampleRate,
        sound.channelCount,
        sound.bits,
        sound.float ? 1 : 0,
        sound.seconds,
      ],
    );
  };
  return changeAndRead(db, change, () => readRecording(db, id));
}

export function storeTone(db: Database, id: string, report: ToneReport, engineVersion: string): Recording {
  return changeAndRead(
    db,
    () => updateRow(db, 'recording', id, 'tone, engine_version', [JSON.stringify(report), engineVersion]),
    () => readRecording(db, id),
  );
}

const soundComparisonOf = (row: Row): SoundComparison =>
  soundComparisonSchema.parse({
    id: row['id'],
    stylusId: row['stylus_id'],
    earlierId: row['earlier_id'],
    laterId: row['later_id'],
    report: json(row['report']),
    engineVersion: row['engine_version'],
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
  });

/** One for each pair: measuring again replaces what was there. */
export function storeSoundComparison(
  db: Database,
  pair: { readonly stylusId: string; readonly earlierId: string; readonly laterId: string },
  report: PassageReport,
  engineVersion: string,
): SoundComparison {
  const old = db.get(
    'SELECT id FROM sound_comparison WHERE earlier_id = ? AND later_id = ?',
    pair.earlierId,
    pair.laterId,
  );
  const id = old === undefined ? newId() : String(old['id']);
  const change = () =>
    old === undefined
      ? insertRow(db, 'sound_comparison', id, 'stylus_id, earlier_id, later_id, report, engine_version', [
          pair.stylusId,
          pair.earlierId,
          pair.laterId,
          JSON.stringify(report),
          engineVersion,
        ])
      : updateRow(db, 'sound_comparison', id, 'report, engine_version, binned_at', [
          JSON.stringify(report),
          engineVersion,
          null,
        ]);
  return changeAndRead(db, change, () =>
    soundComparisonOf(db.get('SELECT * FROM sound_comparison WHERE id = ?', id)!),
  );
}

function causesOf(db: Database, stylusId: string): CauseAnswer[] {
  const rows = db.all('SELECT * FROM cause WHERE stylus_id = ? AND binned_at IS NULL', stylusId);
  return CAUSES.map((cause) => {
    const row = rows.find((one) => one['cause'] === cause);
    return row === undefined
      ? { cause, answer: 'not-checked', date: null, note: '' }
      : causeAnswerSchema.parse({
          cause,
          answer: row['answer'],
          date: row['checked_on'],
          note: row['note'],
        });
  });
}

export function answerCause(db: Database, stylusId: string, given: CauseAnswer): CauseAnswer {
  const values = [given.answer, given.answer === 'not-checked' ? null : given.date, given.note];
  const old = db.get('SELECT id FROM cause WHERE stylus_id = ? AND cause = ?', stylusId, given.cause);
  const change = () =>
    old === undefined
      ? insertRow(db, 'cause', newId(), 'stylus_id, cause, answer, checked_on, note', [
          stylusId,
          given.cause,
          ...values,
        ])
      : updateRow(db, 'cause', String(old['id']), 'answer, checked_on, note, binned_at', [...values, null]);
  return changeAndRead(db, change, () => causesOf(db, stylusId).find((one) => one.cause === given.cause)!);
}

/** Passages of all styluses, the rest of this one; oldest first, the bin left out. */
export function listeningPage(db: Database, stylusId: string): ListeningPage {
  const recordings = db
    .all(
      `SELECT * FROM recording WHERE stylus_id = ? AND binned_at IS NULL ORDER BY recorded_on, created_at, id`,
      stylusId,
    )
    .map(recordingOf);
  const there = new Set(recordings.map((one) => one.id));
  return {
    // One in the bin is still named where a recording of it is there.
    passages: db
      .all('SELECT * FROM passage ORDER BY created_at, id')
      .map(passageOf)
      .filter((one) => one.binnedAt === null || recordings.some((r) => r.passageId === one.id)),
    recordings,
    takes: takesOf(recordings),
    comparisons: db
      .all(
        'SELECT * FROM sound_comparison WHERE stylus_id = ? AND binned_at IS NULL ORDER BY created_at, id',
        stylusId,
      )
      .map(soundComparisonOf)
      .filter((one) => there.has(one.earlierId) && there.has(one.laterId)),
    causes: causesOf(db, stylusId),
  };
}

import {
  evaluateStudy,
  LEAST_REPEATS,
  poolStudies,
  readingOf,
  type StudyResult,
} from '../../../core/uncertainty/index.ts';
import { Refusal, studySchema } from '../../../shared/index.ts';
import type {
  Capture,
  Counted,
  GivenRepeatability,
  Study,
  StudyDraft,
  StudyPage,
  StudySeen,
} from '../../../shared/index.ts';
import { changeAndRead, insertRow, newId, updateRow } from './changes.ts';
import type { Database, Row } from './database.ts';
import { remembered } from './memo.ts';
import { captureOf, captureSelect } from './rows.ts';

/**
 * Repeatability studies. What a study says is worked out from its pictures' examinations each time, so that a picture
 * taken out of it, or put back, changes everything that follows from it and nothing is stored twice.
 */
const studyOf = (row: Row): Study =>
  studySchema.parse({
    id: row['id'],
    stylusId: row['stylus_id'],
    day: row['day'],
    who: row['who'],
    microscope: row['microscope'],
    notes: row['notes'],
    counts: row['counts'] === 1,
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
  });

export function readStudy(db: Database, id: string): Study {
  const row = db.get('SELECT * FROM study WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That study is not in the collection.');
  return studyOf(row);
}

export function createStudy(db: Database, draft: StudyDraft): Study {
  const id = newId();
  const { stylusId, day, who, microscope, notes } = draft;
  return changeAndRead(
    db,
    () =>
      insertRow(db, 'study', id, 'stylus_id, day, who, microscope, notes, counts', [
        stylusId,
        day,
        who,
        microscope,
        notes,
        0,
      ]),
    () => readStudy(db, id),
  );
}

export const studyOfCapture = (db: Database, captureId: string): string | null => {
  const row = db.get('SELECT study_id FROM study_capture WHERE capture_id = ?', captureId);
  return row === undefined ? null : String(row['study_id']);
};

/** In the order in which they came in. */
function capturesOfStudy(db: Database, id: string): Capture[] {
  return db
    .all(
      `${captureSelect(db)} JOIN study_capture ON study_capture.capture_id = capture.id
       WHERE study_id = ? AND capture.binned_at IS NULL ORDER BY capture.created_at, capture.id`,
      id,
    )
    .map(captureOf);
}

function seenOf(db: Database, study: Study): StudySeen {
  const captures = capturesOfStudy(db, study.id);
  const readings = captures.flatMap(({ examination }) =>
    examination === null ? [] : (readingOf(examination) ?? []),
  );
  const stylus = db.get('SELECT name FROM stylus WHERE id = ?', study.stylusId);
  return {
    study,
    stylusName: String(stylus?.['name']),
    pictures: captures.length,
    readings: readings.length,
    result: readings.length < LEAST_REPEATS ? null : evaluateStudy(readings),
  };
}

export const studyPage = (db: Database, id: string): StudyPage => ({
  seen: seenOf(db, readStudy(db, id)),
  captures: capturesOfStudy(db, id),
});

function studiesWhere(db: Database, condition: string): StudySeen[] {
  return db
    .all(
      `SELECT study.* FROM study JOIN stylus ON stylus.id = stylus_id
       WHERE study.binned_at IS NULL AND stylus.binned_at IS NULL ${condition}
       ORDER BY day DESC, study.created_at DESC, study.id`,
    )
    .map((row) => seenOf(db, studyOf(row)));
}

/** Newest first. */
export const listStudies = (db: Database): StudySeen[] =>
  remembered(db, 'studies', () => studiesWhere(db, ''));

export const sameName = (a: string, b: string): boolean => a.trim().toLowerCase() === b.trim().toLowerCase();

const isResult = (result: StudySeen['result']): result is StudyResult => result !== null;

/** What counts for the microscope of these studies. */
function countedOf(seen: readonly StudySeen[]): Counted {
  const [{ study }] = seen;
  const results = seen.map((one) => one.result).filter(isResult);
  const base = {
    microscope: study.microscope,
    who: study.who,
    studyIds: seen.map((one) => one.study.id),
    given: null,
    test: null,
  };
  if (results.length < seen.length)
    return {
      ...base,
      problem: `A study that counts has fewer than ${LEAST_REPEATS} readings. Add pictures to it, or let another one count.`,
    };
  const pooled = poolStudies(results);
  if (pooled.alike)
    return {
      ...base,
      given: { ...pooled.given, study: base.studyIds.toSorted().join(' ') },
      test: pooled.test,
      problem: null,
    };
  const { test } = pooled;
  return {
    ...base,
    test,
    problem:
      pooled.why === 'no-flat'
        ? 'No wall shows a flat in every picture, so nothing is known about reading one. Repeat it with a stylus whose flats are seen.'
        : `These studies scatter differently: the ratio of their variances is ${test?.ratio.toFixed(1)}, and by chance it stays below ${test?.limit.toFixed(1)} (F test, 5 %). Let only one of them count, or find out what differed.`,
  };
}

export const countedStudies = (db: Database): Counted[] =>
  remembered(db, 'counted studies', () => {
    const groups = new Map<string, StudySeen[]>();
    // Asked with every page: the others' pictures need no reading.
    for (const one of studiesWhere(db, 'AND study.counts = 1')) {
      const key = one.study.microscope.trim().toLowerCase();
      groups.set(key, [...(groups.get(key) ?? []), one]);
    }
    return [...groups.values()].map(countedOf);
  });

/** Which studies count for a microscope; those of others are not touched. None: nothing is counted for it. */
export function chooseStudies(db: Database, microscope: string, ids: readonly string[]): void {
  const seen = listStudies(db).filter(({ study }) => sameName(study.microscope, microscope));
  const chosen = seen.filter(({ study }) => ids.includes(study.id));
  if (chosen.length < ids.length)
    throw new Refusal('bad-input', 'One of these studies is not of that microscope, or is gone.');
  if (chosen.some(({ study }) => !sameName(study.who, chosen[0].study.who)))
    throw new Refusal(
      'bad-input',
      'These studies are of different people. A repeatability belongs to one pair of hands: let those of one person count.',
    );
  if (chosen.length > 0) {
    const { problem } = countedOf(chosen);
    if (problem !== null) throw new Refusal('bad-input', problem);
  }
  db.transaction(() => {
    for (const { study } of seen) {
      const counts = ids.includes(study.id);
      if (counts !== study.counts) updateRow(db, 'study', study.id, 'counts', [counts ? 1 : 0]);
    }
  });
}

/** What counts for a picture: its view is the studies' own, and its microscope bears their name. */
export function repeatabilityFor(
  db: Database,
  capture: Pick<Capture, 'id' | 'view' | 'microscope'>,
): GivenRepeatability | null {
  if (capture.view !== 'front' || capture.microscope.trim() === '') return null;
  const found = countedStudies(db).find((one) => sameName(one.microscope, capture.microscope));
  if (found === undefined || found.given === null) return null;
  return studyOfCapture(db, capture.id) === null ? found.given : null;
}

/** What two results were made with, compared. */
export const sameGiven = (
  a: GivenRepeatability | null | undefined,
  b: GivenRepeatability | null | undefined,
): boolean => JSON.stringify(keyOf(a)) === JSON.stringify(keyOf(b));
const keyOf = (given: GivenRepeatability | null | undefined): unknown =>
  given === null || given === undefined
    ? null
    : [given.left, given.right, given.radius].map((one) =>
        one === null ? null : [one.standardUm, one.fitUm, one.degreesOfFreedom],
      );

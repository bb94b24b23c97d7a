import {
  comparisonReportSchema,
  datedSchema,
  ENDS_PLAYING,
  examinationReportSchema,
} from '../../../shared/index.ts';
import type { Measured, StylusCard } from '../../../shared/index.ts';
import { NO_STUDY } from './captures.ts';
import type { Database, SqlValue } from './database.ts';
import { hoursUpTo, todayHere } from './hours.ts';
import { briefJoin, columnsFor, type Reported } from './lines.ts';
import { remembered } from './memo.ts';
import { stylusOf } from './rows.ts';

/**
 * The shelf's cards. They are asked for at every change, so each is a handful of questions that an index answers and
 * never a reading of everything on the stylus: ten thousand captures must cost no more than ten.
 */
const CAPTURES = `FROM capture WHERE stylus_id = ? AND binned_at IS NULL ${NO_STUDY}`;
/** Newest first; undated ones come after all dated ones in time, so before them here. */
const NEWEST = '(taken_wall IS NULL) DESC, taken_wall DESC, capture.created_at DESC, capture.id DESC';

function lastCapture(db: Database, stylusId: string): StylusCard['lastCapture'] {
  const row = db.get(
    `SELECT taken_wall, taken_offset, taken_source ${CAPTURES} AND taken_wall IS NOT NULL ORDER BY ${NEWEST} LIMIT 1`,
    stylusId,
  );
  if (row === undefined) return null;
  return datedSchema.parse({
    wall: row['taken_wall'],
    offset: row['taken_offset'],
    source: row['taken_source'],
  });
}

function cover(db: Database, stylusId: string): string | null {
  const row = db.get(`SELECT id ${CAPTURES} ORDER BY (view = 'front') DESC, ${NEWEST} LIMIT 1`, stylusId);
  return row === undefined ? null : String(row['id']);
}

const flatsOf = (left: Measured, right: Measured, unit = 'um'): NonNullable<StylusCard['lastFlats']> => ({
  leftUm: left.value,
  leftExpandedUm: left.expanded,
  rightUm: right.value,
  rightExpandedUm: right.expanded,
  unit,
});

/** From the comparison with the newest later picture that has an answer; those with a picture in the bin are left out. */
function comparedFlats(db: Database, stylusId: string): StylusCard['lastFlats'] {
  const ids = db.all(
    `SELECT comparison.id FROM comparison
     JOIN capture ON capture.id = later_id AND capture.binned_at IS NULL
     JOIN capture AS baseline ON baseline.id = baseline_id AND baseline.binned_at IS NULL
     WHERE comparison.stylus_id = ? AND comparison.binned_at IS NULL
     ORDER BY ${NEWEST.replaceAll('taken_wall', 'capture.taken_wall')}, comparison.created_at DESC, comparison.id DESC`,
    stylusId,
  );
  for (const { id } of ids) {
    const report = comparisonReportSchema.parse(briefReport(db, 'comparison', 'report', stylusId, id));
    if (report.ok) return flatsOf(report.flats.left.laterUm, report.flats.right.laterUm, report.unit);
  }
  return null;
}

function briefReport(db: Database, table: Reported, column: string, stylusId: string, id: SqlValue): unknown {
  const columns = columnsFor(db, table, 'without-lines');
  const row = db.get(
    `SELECT ${columns} FROM ${table} ${briefJoin(table, 'without-lines')}
     WHERE ${table}.stylus_id = ? AND ${table}.id = ?`,
    stylusId,
    id,
  );
  return JSON.parse(String(row?.[column]));
}

function examinedFlats(db: Database, stylusId: string): StylusCard['lastFlats'] {
  const ids = db.all(`SELECT id ${CAPTURES} AND examination IS NOT NULL ORDER BY ${NEWEST}`, stylusId);
  for (const { id } of ids) {
    const report = examinationReportSchema.parse(briefReport(db, 'capture', 'examination', stylusId, id));
    if (report.ok && report.flats)
      return flatsOf(report.flats.left.widthUm, report.flats.right.widthUm, report.unit);
  }
  return null;
}

/** What somebody confirmed and what ends playing, the gravest first. */
export function confirmedDamage(db: Database, stylusId: string): StylusCard['confirmed'] {
  const kinds = db
    .all(
      `SELECT DISTINCT mark.kind FROM mark JOIN capture ON capture.id = capture_id AND capture.binned_at IS NULL
       WHERE mark.stylus_id = ? AND mark.state = 'confirmed' AND mark.binned_at IS NULL`,
      stylusId,
    )
    .map((row) => row['kind']);
  return ENDS_PLAYING.filter((kind) => kinds.includes(kind));
}

const cardOf = (db: Database, id: string): StylusCard =>
  remembered(db, `card ${id} ${todayHere()}`, () => makeCard(db, id));

function makeCard(db: Database, id: string): StylusCard {
  return {
    stylus: stylusOf(db.get('SELECT * FROM stylus WHERE id = ?', id)!),
    captureCount: Number(db.get(`SELECT count(*) AS count ${CAPTURES}`, id)?.['count']),
    hoursNow: hoursUpTo(db, id, null),
    lastCapture: lastCapture(db, id),
    lastFlats: comparedFlats(db, id) ?? examinedFlats(db, id),
    coverCaptureId: cover(db, id),
    confirmed: confirmedDamage(db, id),
  };
}

export const listStyluses = (db: Database): StylusCard[] =>
  remembered(db, `cards ${todayHere()}`, () =>
    db
      .all('SELECT id FROM stylus WHERE binned_at IS NULL ORDER BY demo, created_at, id')
      .map(({ id }) => cardOf(db, String(id))),
  );

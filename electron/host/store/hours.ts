import {
  type Groove,
  type HoursLedger,
  hoursLedger,
  type PlayedSpan,
  spanOfPlayed,
  type WeeklyHabit,
} from '../../../core/wear/index.ts';
import { grooveSchema } from '../../../shared/index.ts';
import type { Entry, Habit } from '../../../shared/index.ts';
import type { Database, Row } from './database.ts';
import { remembered } from './memo.ts';
import { habitOf } from './rows.ts';

/** Today by this machine's wall clock, YYYY-MM-DD. */
export function todayHere(now: Date = new Date()): string {
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

export const habitsOf = (db: Database, stylusId: string): Habit[] =>
  db
    .all('SELECT * FROM habit WHERE stylus_id = ? AND binned_at IS NULL ORDER BY start_date, id', stylusId)
    .map(habitOf);

const numberOr = (row: Row | undefined, name: string): number | null => {
  const value = row?.[name];
  return typeof value === 'number' ? value : null;
};
const grooveIn = (row: Row | undefined, name: string): Groove | null => {
  const value = row?.[name];
  return typeof value === 'string' ? grooveSchema.parse(JSON.parse(value)) : null;
};

function spanOf(row: Row): PlayedSpan {
  const from = row['played_from'];
  return spanOfPlayed(String(row['date']), {
    amount: 1,
    unit: row['played_unit'] as NonNullable<Entry['played']>['unit'],
    minutesPerSide: 1,
    hours: Number(row['played_hours']),
    estimated: row['played_estimated'] === 1,
    from: typeof from === 'string' ? from : null,
    standardHours: numberOr(row, 'played_standard_hours'),
    groove: grooveIn(row, 'played_groove'),
  });
}

type Ledger = {
  readonly ledger: HoursLedger;
  readonly known: boolean;
  readonly habits: readonly WeeklyHabit[];
};

/** What was played and what the habits fill in, up to today or to the day of retirement. */
export const ledgerOf = (db: Database, stylusId: string, today: string = todayHere()): Ledger =>
  remembered(db, `ledger ${stylusId} ${today}`, () => makeLedger(db, stylusId, today));

function makeLedger(db: Database, stylusId: string, today: string): Ledger {
  const stylus = db.get(
    'SELECT start_hours, start_standard_hours, groove, retired_date FROM stylus WHERE id = ?',
    stylusId,
  );
  const retired = stylus?.['retired_date'];
  const spans = db.mapped(
    spanOf,
    `SELECT date, played_from, played_unit, played_hours, played_estimated, played_standard_hours, played_groove
       FROM entry WHERE stylus_id = ? AND kind = 'playing' AND binned_at IS NULL`,
    stylusId,
  );
  const habits = habitsOf(db, stylusId);
  const ledger = hoursLedger({
    startHours: numberOr(stylus, 'start_hours'),
    startStandardHours: numberOr(stylus, 'start_standard_hours'),
    spans,
    habits,
    until: typeof retired === 'string' && retired < today ? retired : today,
    groove: grooveIn(stylus, 'groove'),
  });
  return { ledger, known: numberOr(stylus, 'start_hours') !== null, habits };
}

/**
 * Hours on a stylus up to and including a day (null: now): the hours at its start plus what was played since. Unknown
 * history stays unknown, however much is logged.
 */
export function hoursUpTo(db: Database, stylusId: string, day: string | null): number | null {
  const { ledger, known } = ledgerOf(db, stylusId);
  return known ? ledger.at(day).hours : null;
}

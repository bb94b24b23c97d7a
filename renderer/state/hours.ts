import {
  type HoursFigure,
  type HoursLedger,
  hoursLedger,
  LP_GROOVE,
  type PlayedSpan,
  spanOfPlayed,
} from '../../core/wear/playing-time.ts';
import { grooveKilometres } from '../../core/wear/groove.ts';
import type { Entry, Stylus, StylusPage } from '../../shared/index.ts';
import { today } from '../format.ts';

/** Playing time in the units people have. All of it arithmetic; what is practice is named so. */
export type Played = NonNullable<Entry['played']>;

/** Sides in an evening when the person has said nothing else (practice). */
export const USUAL_EVENING = 4;

export function toHours(
  amount: number,
  unit: Played['unit'],
  minutesPerSide: number,
  sidesPerEvening: number = USUAL_EVENING,
): number {
  const minutes = {
    sides: minutesPerSide,
    records: 2 * minutesPerSide,
    evenings: sidesPerEvening * minutesPerSide,
    hours: 60,
    minutes: 1,
  }[unit];
  return (amount * minutes) / 60;
}

export const toRecords = (hours: number, minutesPerSide: number): number =>
  (hours * 60) / (2 * minutesPerSide);

/** Groove of an hour of playing on this stylus' usual records, km. */
export function kilometresPerHour(stylus: Pick<Stylus, 'groove'>): number {
  const { rpm, outerMm, innerMm } = stylus.groove ?? LP_GROOVE;
  return grooveKilometres(1, rpm, outerMm, innerMm);
}

type Logged = Pick<StylusPage, 'stylus' | 'entries'> & Partial<Pick<StylusPage, 'habits'>>;
const ledgers = new WeakMap<object, HoursLedger>();

/** Sums over all entries and habits, made once for a page: ten years of daily entries are asked for many days. */
export function ledgerOf(page: Logged): HoursLedger {
  const made = ledgers.get(page);
  if (made !== undefined) return made;
  const { stylus, entries, habits = [] } = page;
  const now = today();
  const end = stylus.retired?.date ?? now;
  const spans: PlayedSpan[] = [];
  for (const { date, played } of entries) if (played !== null) spans.push(spanOfPlayed(date, played));
  const ledger = hoursLedger({
    startHours: stylus.startHours,
    startStandardHours: stylus.startStandardHours ?? null,
    spans,
    habits,
    until: end < now ? end : now,
    groove: stylus.groove ?? null,
  });
  ledgers.set(page, ledger);
  return ledger;
}

/**
 * Hours on the stylus at the end of a day. `known` is false when the hours before the first entry are not known; the
 * number then counts from the start of the daybook only.
 */
export function hoursAt(page: Logged, date: string): { hours: number; known: boolean } {
  const { hours, known } = ledgerOf(page).at(date);
  return { hours, known };
}

/** Everything entered up to now, with its parts and its uncertainty. */
export const hoursNow = (page: Logged): HoursFigure => ledgerOf(page).at(null);

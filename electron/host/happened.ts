import { afterPlayed, beforeUse, notYet, Refusal } from '../../shared/index.ts';
import type { EntryDraft, HabitDraft, Stylus, StylusDraft } from '../../shared/index.ts';
import type { Database } from './store/database.ts';
import { ledgerOf, todayHere } from './store/hours.ts';

/**
 * What goes into the daybook has happened: a year mistyped would count as playing time at once and stand in every course.
 */
export function mustHaveHappened(
  days: readonly (string | null | undefined)[],
  today: string = todayHere(),
): void {
  for (const day of days) {
    const sentence = typeof day === 'string' ? notYet(day, today) : null;
    if (sentence !== null) throw new Refusal('bad-input', sentence);
  }
}

/** No stylus plays before it is in use: its hours before that day are those that it started with. */
export function mustBeInUse(stylus: Stylus, { kind, date, played }: EntryDraft): void {
  if (kind !== 'playing') return;
  const sentence = beforeUse(date, stylus.startDate) ?? beforeUse(played?.from ?? '', stylus.startDate);
  if (sentence !== null) throw new Refusal('bad-input', sentence);
}

/** A habit fills days with playing time as an entry does. */
export function habitMustBeInUse(stylus: Stylus, { startDate }: HabitDraft): void {
  const sentence = beforeUse(startDate, stylus.startDate);
  if (sentence !== null) throw new Refusal('bad-input', sentence);
}

/** The other way round: the day of first use does not move past what was played. What is so already may be edited. */
export function mustNotCutOff(db: Database, before: Stylus, { startDate }: StylusDraft): void {
  if (startDate === before.startDate) return;
  const sentence = afterPlayed(startDate, ledgerOf(db, before.id).ledger.firstDay);
  if (sentence !== null) throw new Refusal('bad-input', sentence);
}

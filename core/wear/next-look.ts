import { addDays, addMonths, dateAtHours, daysBetween, earlier } from './dates.ts';

export type LookInput = {
  readonly today: string;
  /** Date of the last usable capture; null when there is none. */
  readonly lastLook: string | null;
  readonly hoursNow: number | null;
  readonly hoursPerWeek: number | null;
  /** Hours at which people think of replacing (common practice, the person's own setting). */
  readonly hoursBand: readonly [number, number];
  /** Earliest hours at which the person's own limit may be reached; null when not forecast. */
  readonly limitHoursLow: number | null;
  /** Left and right differ by more than their uncertainty. */
  readonly uneven: boolean;
};

export type NextLook = { readonly date: string; readonly overdue: boolean; readonly why: string };

/**
 * When to look again (practice): new, then dated and regular, six months apart, never more than a year; three months
 * once the band of hours is near or the walls differ; and at half the time to the earliest date of the person's limit.
 */
export function nextLook(input: LookInput): NextLook {
  const { today, lastLook } = input;
  if (lastLook === null) return { date: today, overdue: false, why: 'There is no dated picture yet.' };
  const near = input.hoursNow !== null && input.hoursNow >= 0.8 * input.hoursBand[0];
  const months = input.uneven || near ? 3 : 6;
  let date = addMonths(lastLook, months);
  let why = input.uneven
    ? 'Left and right wear apart: three months after the last look.'
    : near
      ? 'The hours come near the band at which people replace a stylus: three months after the last look.'
      : 'Six months after the last look.';
  if (input.limitHoursLow !== null && input.hoursNow !== null && input.hoursPerWeek !== null) {
    const limit = dateAtHours(today, input.hoursNow, input.limitHoursLow, input.hoursPerWeek);
    if (limit !== null) {
      const half = addDays(today, Math.max(0, daysBetween(today, limit) / 2));
      if (earlier(half, date) === half && half !== date) {
        date = half;
        why = 'Half-way to the earliest date at which your own limit may be reached.';
      }
    }
  }
  return { date, overdue: earlier(date, today) === date && date !== today, why };
}

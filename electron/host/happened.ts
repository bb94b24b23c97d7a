import { addDays } from '../../core/wear/index.ts';
import { dayWords, Refusal } from '../../shared/index.ts';
import { todayHere } from './store/hours.ts';

/**
 * What goes into the daybook has happened: a year mistyped would count as playing time at once and stand in every course.
 * A day of grace, for clocks of cameras and the date line. Days YYYY-MM-DD, or wall times that begin with one.
 */
export function mustHaveHappened(
  days: readonly (string | null | undefined)[],
  today: string = todayHere(),
): void {
  const last = addDays(today, 1);
  for (const day of days)
    if (typeof day === 'string' && day.slice(0, 10) > last)
      throw new Refusal('bad-input', `${dayWords(day)} lies in the future. Look at the year.`);
}

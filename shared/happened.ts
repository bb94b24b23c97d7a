import { dayWords } from './date-words.ts';

/** Why a day cannot stand in the daybook; null when it can. Window and host say the same sentence. */

const DAY_MS = 86_400_000;

/**
 * Not yet there by the wall date `today`. A day of grace, for clocks of cameras and the date line. Days YYYY-MM-DD, or
 * wall times that begin with one.
 */
export function notYet(day: string, today: string): string | null {
  const last = new Date(Date.parse(`${today}T00:00:00Z`) + DAY_MS).toISOString().slice(0, 10);
  return day.slice(0, 10) > last ? `${dayWords(day)} lies in the future. Look at the year.` : null;
}

/** Played before the stylus came into use. */
export function beforeUse(day: string, since: string | null): string | null {
  if (since === null || day === '' || day >= since) return null;
  return `This stylus has been in use since ${dayWords(since)}. Choose that day or a later one, or correct it there first.`;
}

/** In use only since a day after which something was played already; `firstPlayed` is that day, by log or habit. */
export function afterPlayed(since: string | null, firstPlayed: string | null): string | null {
  if (since === null || firstPlayed === null || since <= firstPlayed) return null;
  return `Playing time stands in the daybook from ${dayWords(firstPlayed)} on. Choose that day or an earlier one, or correct that entry or habit first.`;
}

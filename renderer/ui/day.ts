import { beforeUse, notYet } from '../../shared/index.ts';
import { today } from '../format.ts';

/** What is wrong with the day in a field; null when it may be kept. */
export const dayError = (day: string, missing = 'Choose the day.', now: string = today()): string | null =>
  day === '' ? missing : notYet(day, now);

/** What is wrong with the last and the first day of a playing time; `since` = when its stylus came into use. */
export function playingDays(
  date: string,
  from: string,
  since: string | null,
  now: string = today(),
): { readonly date: string | null; readonly from: string | null } {
  return {
    date: dayError(date, undefined, now) ?? beforeUse(date, since),
    from: from === '' ? null : from > date ? 'It begins after its last day.' : beforeUse(from, since),
  };
}

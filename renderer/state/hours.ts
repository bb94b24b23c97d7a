import type { Entry, StylusPage } from '../../shared/index.ts';

/** Playing time in the units people have. All of it arithmetic; what is practice is named so. */

/** Groove that passes under the tip in an hour at 33 1/3 rpm, averaged over a 30 cm side: computed from the radii. */
export const KM_PER_HOUR = 1.3;

export type Played = NonNullable<Entry['played']>;

export function toHours(amount: number, unit: Played['unit'], minutesPerSide: number): number {
  const minutes = { sides: minutesPerSide, records: 2 * minutesPerSide, hours: 60, minutes: 1 }[unit];
  return (amount * minutes) / 60;
}

export const toRecords = (hours: number, minutesPerSide: number): number =>
  (hours * 60) / (2 * minutesPerSide);

/**
 * Hours on the stylus at the end of a day. `known` is false when the hours before the first entry are not known; the
 * number then counts from the start of the daybook only.
 */
export function hoursAt(
  page: Pick<StylusPage, 'stylus' | 'entries'>,
  date: string,
): { hours: number; known: boolean } {
  const start = page.stylus.startHours;
  const played = page.entries
    .filter((entry) => entry.played !== null && entry.date <= date)
    .reduce((sum, entry) => sum + (entry.played?.hours ?? 0), 0);
  return { hours: (start ?? 0) + played, known: start !== null };
}

/** Whether any of the logged time is an estimate; the figure is then marked as one. */
export const someEstimated = (entries: readonly Entry[]): boolean =>
  entries.some((entry) => entry.played?.estimated === true);

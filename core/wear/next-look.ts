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

export type NextLook = {
  readonly date: string;
  readonly overdue: boolean;
  readonly why: string;
  /** Every rule with the date it gives; null: it was asked and does not apply, or something it needs is not known. */
  readonly rules: { rule: string; date: string | null }[];
};

/**
 * When to look again (practice): new, then dated and regular, six months apart, never more than a year; three months
 * once the band of hours is near or the walls differ; and at half the time to the earliest date of the person's limit.
 * The earliest of them holds.
 */
export function nextLook(input: LookInput): NextLook {
  const { today, lastLook } = input;
  if (lastLook === null) {
    const why = 'There is no dated picture yet.';
    return { date: today, overdue: false, why, rules: [{ rule: why, date: today }] };
  }
  const near = input.hoursNow !== null && input.hoursNow >= 0.8 * input.hoursBand[0];
  const quarter = addMonths(lastLook, 3);
  // Of two rules with one date the first named holds.
  const rules = [
    {
      rule: 'Left and right wear apart: three months after the last look.',
      date: input.uneven ? quarter : null,
    },
    {
      rule: 'The hours come near the band at which people replace a stylus: three months after the last look.',
      date: near ? quarter : null,
    },
    { rule: 'Six months after the last look.', date: addMonths(lastLook, 6) },
    { rule: 'A year after the last look, at the very latest.', date: addMonths(lastLook, 12) },
    {
      rule: 'Half-way to the earliest date at which your own limit may be reached.',
      date: halfWay(input),
    },
  ];
  const dated = rules.flatMap(({ rule, date }) => (date === null ? [] : [{ rule, date }]));
  const { rule: why, date } = dated.reduce((a, b) => (earlier(a.date, b.date) === a.date ? a : b));
  return { date, overdue: earlier(date, today) === date && date !== today, why, rules };
}

function halfWay({ today, hoursNow, hoursPerWeek, limitHoursLow }: LookInput): string | null {
  if (limitHoursLow === null || hoursNow === null || hoursPerWeek === null) return null;
  const limit = dateAtHours(today, hoursNow, limitHoursLow, hoursPerWeek);
  return limit === null ? null : addDays(today, Math.max(0, daysBetween(today, limit) / 2));
}

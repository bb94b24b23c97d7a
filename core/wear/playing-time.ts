import type { Entry } from '../../shared/index.ts';
import { LP_INNER_RADIUS_MM, LP_OUTER_RADIUS_MM, LP_RPM, grooveKilometres } from './groove.ts';

/**
 * Hours on a stylus from what people write down: entries (one day or a stretch of days) and weekly habits that fill the
 * gaps. A habit never adds to logged time: a week in which something was logged belongs to the log. Pure; no clock.
 */

/** How an amount of playing time is known. `stated`: the person gave an uncertainty of their own. */
export type Knowledge = 'timed' | 'counted' | 'estimated' | 'stated';

export type PlayedSpan = {
  /** First and last day, YYYY-MM-DD; the same for one day. */
  readonly from: string;
  readonly to: string;
  readonly hours: number;
  readonly knowledge: Knowledge;
  /** Standard uncertainty in hours; read for `stated` only. */
  readonly standardHours?: number;
  readonly groove?: Groove | null;
};

export type WeeklyHabit = {
  readonly startDate: string;
  /** Last day; null: goes on. */
  readonly endDate: string | null;
  readonly hoursPerWeek: number;
};

/** Turntable speed and the radii between which the records are cut, mm. */
export type Groove = { readonly rpm: number; readonly outerMm: number; readonly innerMm: number };

export const LP_GROOVE: Groove = { rpm: LP_RPM, outerMm: LP_OUTER_RADIUS_MM, innerMm: LP_INNER_RADIUS_MM };

export type PlayingTimeInput = {
  /** Hours before the daybook begins; null: nobody knows. */
  readonly startHours: number | null;
  readonly startStandardHours?: number | null;
  readonly spans: readonly PlayedSpan[];
  readonly habits: readonly WeeklyHabit[];
  /** Habits fill no day after this one: today, or the day of retirement. */
  readonly until: string;
  readonly groove?: Groove | null;
};

export type HoursFigure = {
  /** Everything, hours; without the time before the daybook when that is not known. */
  readonly hours: number;
  /** Standard uncertainty, hours. */
  readonly standard: number;
  readonly known: boolean;
  readonly atStart: number;
  readonly logged: number;
  readonly estimated: number;
  readonly byHabit: number;
  /** Groove that passed under the stylus. */
  readonly kilometres: number;
};

/**
 * Relative standard uncertainties: own assumptions, no source. Minutes on a clock or in a play list; sides counted with
 * a usual length; a figure from memory; a habit. Within a kind the error is taken as the same for all (a usual side that
 * is too short is too short every time), so it adds up instead of averaging out.
 */
export const RELATIVE_STANDARD = { timed: 0.02, counted: 0.05, estimated: 0.2, habit: 0.2 } as const;

/** An entry's playing time as the ledger counts it. Evenings are a figure from memory whatever their tick says. */
export function spanOfPlayed(date: string, played: NonNullable<Entry['played']>): PlayedSpan {
  const { unit, hours, estimated, from, standardHours, groove } = played;
  const timed = unit === 'hours' || unit === 'minutes';
  const byRule = estimated || unit === 'evenings' ? 'estimated' : timed ? 'timed' : 'counted';
  const stated = typeof standardHours === 'number';
  return {
    from: from ?? date,
    to: date,
    hours,
    knowledge: stated ? 'stated' : byRule,
    ...(stated ? { standardHours } : {}),
    groove: groove ?? null,
  };
}

const DAY = 86_400_000;
/** A stretch longer than this is a slip of the pen. */
const LONGEST_SPAN = 366 * 60;

export const dayNumber = (date: string): number => Math.round(Date.parse(`${date}T00:00:00Z`) / DAY);
/** Ten years of daily entries name the same few thousand days again and again. */
function dayNumbers(): (date: string) => number {
  const known = new Map<string, number>();
  return (date) => {
    let day = known.get(date);
    if (day === undefined) known.set(date, (day = dayNumber(date)));
    return day;
  };
}
export const dateOfDay = (day: number): string => new Date(day * DAY).toISOString().slice(0, 10);
/** Monday of the day's week; day 0 (1970-01-01) was a Thursday. */
const mondayOf = (day: number): number => day - ((day + 3) % 7);

type Sums = {
  timed: number;
  counted: number;
  estimated: number;
  stated: number;
  habit: number;
  statedVariance: number;
  kilometres: number;
};
const nothing = (): Sums => ({
  timed: 0,
  counted: 0,
  estimated: 0,
  stated: 0,
  habit: 0,
  statedVariance: 0,
  kilometres: 0,
});

/** Answers for any day, from sums made once. */
export type HoursLedger = {
  /** Hours at the end of a day; null: with everything that was entered, also for days to come. */
  readonly at: (date: string | null) => HoursFigure;
  /** First day with playing time; null when there is none. */
  readonly firstDay: string | null;
  /** Days that a habit fills, for showing which figures are estimates. */
  readonly habitDays: number;
};

export function hoursLedger(input: PlayingTimeInput): HoursLedger {
  const perHour = (groove: Groove | null | undefined): number => {
    const g = groove ?? input.groove ?? LP_GROOVE;
    return grooveKilometres(1, g.rpm, g.outerMm, g.innerMm);
  };
  const days = new Map<number, Sums>();
  const on = (day: number): Sums => {
    let sums = days.get(day);
    if (sums === undefined) days.set(day, (sums = nothing()));
    return sums;
  };
  const covered: Covered = { days: new Set(), weeks: new Set() };
  const dayOf = dayNumbers();
  const usual = perHour(null);
  for (const span of input.spans)
    addSpan(span, on, covered, span.groove ? perHour(span.groove) : usual, dayOf);
  const habitDays = addHabits(input, on, covered, usual);
  const order = [...days.keys()].toSorted((a, b) => a - b);
  const running: Sums[] = [];
  let last = nothing();
  for (const day of order) running.push((last = plus(last, days.get(day)!)));
  const at = (date: string | null): HoursFigure =>
    figure(input, date === null ? last : sumsUpTo(order, running, dayNumber(date)), usual);
  return { at, firstDay: order.length === 0 ? null : dateOfDay(order[0]), habitDays };
}

function plus(a: Sums, b: Sums): Sums {
  return {
    timed: a.timed + b.timed,
    counted: a.counted + b.counted,
    estimated: a.estimated + b.estimated,
    stated: a.stated + b.stated,
    habit: a.habit + b.habit,
    statedVariance: a.statedVariance + b.statedVariance,
    kilometres: a.kilometres + b.kilometres,
  };
}

function addSpan(
  span: PlayedSpan,
  on: (day: number) => Sums,
  covered: Covered,
  kilometresPerHour: number,
  dayOf: (date: string) => number,
): void {
  const to = dayOf(span.to);
  const from = Math.max(Math.min(dayOf(span.from), to), to - LONGEST_SPAN);
  const count = to - from + 1;
  for (let day = from; day <= to; day++) {
    const sums = on(day);
    sums[span.knowledge] += span.hours / count;
    sums.kilometres += (span.hours / count) * kilometresPerHour;
    if (span.knowledge === 'stated') sums.statedVariance += (span.standardHours ?? 0) ** 2 / count;
  }
  // One day stands for its week, a stretch for itself.
  if (count === 1) covered.weeks.add(mondayOf(to));
  else for (let day = from; day <= to; day++) covered.days.add(day);
}

/** Days that no habit fills: single ones, and whole weeks by their Monday. */
type Covered = { readonly days: Set<number>; readonly weeks: Set<number> };

/** Of two habits on one day the one that began later holds. Returns the number of days filled. */
function addHabits(
  { habits, until }: PlayingTimeInput,
  on: (day: number) => Sums,
  covered: Covered,
  kilometresPerHour: number,
): number {
  const filled = new Set<number>();
  const end = dayNumber(until);
  for (const habit of [...habits].toSorted((a, b) => b.startDate.localeCompare(a.startDate))) {
    const last = habit.endDate === null ? end : Math.min(end, dayNumber(habit.endDate));
    for (let day = Math.max(dayNumber(habit.startDate), last - LONGEST_SPAN); day <= last; day++) {
      if (covered.days.has(day) || covered.weeks.has(mondayOf(day)) || filled.has(day)) continue;
      filled.add(day);
      const sums = on(day);
      sums.habit += habit.hoursPerWeek / 7;
      sums.kilometres += (habit.hoursPerWeek / 7) * kilometresPerHour;
    }
  }
  return filled.size;
}

function sumsUpTo(order: readonly number[], running: readonly Sums[], day: number): Sums {
  let low = 0;
  let high = order.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (order[middle] <= day) low = middle + 1;
    else high = middle;
  }
  return low === 0 ? nothing() : running[low - 1];
}

function figure(input: PlayingTimeInput, sums: Sums, kilometresPerHour: number): HoursFigure {
  const atStart = input.startHours ?? 0;
  const logged = sums.timed + sums.counted + sums.stated;
  return {
    hours: atStart + logged + sums.estimated + sums.habit,
    standard: Math.hypot(
      input.startStandardHours ?? 0,
      RELATIVE_STANDARD.timed * sums.timed,
      RELATIVE_STANDARD.counted * sums.counted,
      RELATIVE_STANDARD.estimated * sums.estimated,
      RELATIVE_STANDARD.habit * sums.habit,
      Math.sqrt(sums.statedVariance),
    ),
    known: input.startHours !== null,
    atStart,
    logged,
    estimated: sums.estimated,
    byHabit: sums.habit,
    kilometres: sums.kilometres + atStart * kilometresPerHour,
  };
}

export type PresentHabit = {
  readonly hoursPerWeek: number;
  /** Where the figure comes from. */
  readonly from: 'weekly habit' | 'last half year' | 'since it began';
};

const HALF_YEAR_WEEKS = 26;
/** Fewer weeks say nothing about a habit. */
const FEWEST_WEEKS = 4;

const weeksSince = (day: string, today: string): number => (dayNumber(today) - dayNumber(day) + 1) / 7;

/**
 * Hours a week at present: the habit that goes on, else the mean of the last half year; null when the log began less
 * than four weeks ago, or nothing was played lately. `whyNoHabit` says which.
 */
export function presentHabit(
  ledger: HoursLedger,
  habits: readonly WeeklyHabit[],
  today: string,
): PresentHabit | null {
  const going = habits
    .filter((h) => h.startDate <= today && (h.endDate === null || h.endDate > today))
    .toSorted((a, b) => b.startDate.localeCompare(a.startDate));
  if (going.length > 0) return { hoursPerWeek: going[0].hoursPerWeek, from: 'weekly habit' };
  if (ledger.firstDay === null) return null;
  const now = dayNumber(today);
  const weeks = Math.min(HALF_YEAR_WEEKS, weeksSince(ledger.firstDay, today));
  if (weeks < FEWEST_WEEKS) return null;
  const before = ledger.at(dateOfDay(now - Math.round(weeks * 7)));
  const hoursPerWeek = (ledger.at(today).hours - before.hours) / weeks;
  if (hoursPerWeek <= 0) return null;
  return { hoursPerWeek, from: weeks < HALF_YEAR_WEEKS ? 'since it began' : 'last half year' };
}

/** Why `presentHabit` knows none, as a sentence. However many hours stand on one day, a day tells no pace. */
export function whyNoHabit({ firstDay }: HoursLedger, today: string): string {
  if (firstDay === null)
    return 'No playing time is entered, so hours cannot be turned into dates. Log some, or give a weekly habit.';
  return weeksSince(firstDay, today) < FEWEST_WEEKS
    ? 'Hours are not turned into dates yet: the first playing time is less than four weeks old, and that does not tell how much is played in a week. A weekly habit would.'
    : 'Nothing was played in the last half year, so hours cannot be turned into dates.';
}

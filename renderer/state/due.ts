import { MARK_WORDS } from '../../shared/index.ts';
import type { Dated, MarkKind, NextLookAnswer, Stylus } from '../../shared/index.ts';
import { formatDate, grouped } from '../format.ts';

/** What is due for a stylus, from its dates and hours alone. Every rule is visible here; all are advice. */
export type Due = { readonly tone: 'calm' | 'soon' | 'now'; readonly text: string };
export type DueFacts = {
  readonly stylus: Stylus;
  readonly hoursNow: number | null;
  readonly lastLook: Dated | null;
  readonly hasBaseline: boolean;
  readonly practiceHours: readonly [number, number];
  readonly today: string;
  /** The next look by all rules, once the host has answered; until then the half year is counted here. */
  readonly look?: NextLookAnswer | null;
  /** Damage that somebody confirmed and that ends playing. */
  readonly confirmed?: readonly MarkKind[];
};

const days = (from: string, to: string): number =>
  Math.round((Date.parse(to.slice(0, 10)) - Date.parse(from.slice(0, 10))) / 86_400_000);

/** Half a year between looks, never more than a whole one; a look also when the hours reach the band people use. */
export function whatIsDue(facts: DueFacts): Due[] {
  if (facts.stylus.retired !== null) return [];
  const { confirmed = [] } = facts;
  // Nothing else is due on a stylus that must not touch a record any more.
  if (confirmed.length > 0)
    return [{ tone: 'now', text: `Take it off now: ${inOneBreath(confirmed)} confirmed` }];
  return [...dueLook(facts), ...dueHours(facts)];
}

/** What ended a stylus, for its card: nothing is due any more, but why it lies there is what the shelf is asked. */
export function whatEnded({ stylus, confirmed = [] }: Pick<DueFacts, 'stylus' | 'confirmed'>): string[] {
  if (stylus.retired === null) return [];
  const { date, reason } = stylus.retired;
  const damage = inOneBreath(confirmed);
  return [
    `Retired ${formatDate(date)}${reason === '' ? '' : `: ${reason}`}`,
    ...(damage === '' ? [] : [`${damage.charAt(0).toUpperCase()}${damage.slice(1)} confirmed`]),
  ];
}

const inOneBreath = (kinds: readonly MarkKind[]): string =>
  kinds.map((kind) => MARK_WORDS[kind].toLowerCase()).join(' and ');

function dueLook({ lastLook, hasBaseline, today, look }: DueFacts): Due[] {
  if (lastLook === null)
    return [
      {
        tone: 'soon',
        text: hasBaseline
          ? 'No dated look yet: give the picture a date'
          : 'First look due: a picture of the tip is the baseline',
      },
    ];
  const age = days(lastLook.wall, today);
  const due: Due[] = [];
  if (!hasBaseline)
    due.push({ tone: 'soon', text: 'No baseline chosen: mark the earliest good picture as the baseline' });
  if (look !== undefined && look !== null) due.push(byRule(look, age));
  else if (age >= 365) due.push({ tone: 'now', text: `Look overdue: the last one was ${inMonths(age)} ago` });
  else if (age >= 183) due.push({ tone: 'soon', text: `Look due: the last one was ${inMonths(age)} ago` });
  else if (age >= 0) due.push({ tone: 'calm', text: `Next look in about ${inMonths(183 - age)}` });
  return due;
}

function byRule({ date, overdue, why }: NextLookAnswer, age: number): Due {
  const rule = `${why.charAt(0).toLowerCase()}${why.slice(1).replace(/\.$/, '')}`;
  if (!overdue) return { tone: 'calm', text: `Next look by ${formatDate(date)}: ${rule}` };
  return age >= 365
    ? { tone: 'now', text: `Look overdue: the last one was ${inMonths(age)} ago` }
    : { tone: 'soon', text: `Look due since ${formatDate(date)}: ${rule}` };
}

function dueHours({ stylus, hoursNow, practiceHours }: DueFacts): Due[] {
  if (hoursNow === null)
    return [
      {
        tone: 'soon',
        text: 'History unknown: common practice is to fit a new stylus rather than to trust this one',
      },
    ];
  const [from, to] = practiceHours;
  if (stylus.ratedHours !== null && hoursNow >= stylus.ratedHours)
    return [{ tone: 'now', text: 'Rated hours reached' }];
  if (hoursNow >= to)
    return [{ tone: 'now', text: `Past the ${grouped(from)} to ${grouped(to)} hours of common practice` }];
  if (hoursNow >= from)
    return [{ tone: 'soon', text: `Inside the ${grouped(from)} to ${grouped(to)} hours of common practice` }];
  return [];
}

const inMonths = (days: number): string => {
  if (days < 45) return `${Math.max(1, days)} ${days === 1 ? 'day' : 'days'}`;
  const months = Math.round(days / 30.4);
  return months < 24 ? `${months} months` : `${Math.floor(months / 12)} years`;
};

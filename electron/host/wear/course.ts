import {
  type FlatPoint,
  flatPoints,
  presentHabit,
  wearCourse,
  wearPoints,
} from '../../../core/wear/index.ts';
import type { Stylus, WearCourse } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import type { Database } from '../store/database.ts';
import { ledgerOf, todayHere } from '../store/hours.ts';
import { remembered } from '../store/memo.ts';
import { readStylus } from '../store/styluses.ts';
import { measuredFlats } from './flats.ts';
import { fitOnce, isFitted, keepLaw, recallLaw, storeLaw } from './laws.ts';

/** Below, a fit takes less time than handing it over. */
const MANY_POINTS = 12;
const FIT_LIMIT_MS = 60_000;

export type CourseQuestion = {
  readonly today: string;
  /** Hours between which people think about replacing; the person's own setting. */
  readonly practiceHours: readonly [number, number];
  readonly lookOnly?: boolean;
};

/** Wear against hours of one stylus, from what is stored; nothing of it is stored itself. */
export const courseOf = (db: Database, stylusId: string, question: CourseQuestion): WearCourse =>
  remembered(db, `course ${stylusId} ${JSON.stringify(question)}`, () => makeCourse(db, stylusId, question));

function makeCourse(db: Database, stylusId: string, question: CourseQuestion): WearCourse {
  const { stylus, points, dates, ledger, habits } = gathered(db, stylusId, question.today);
  const { today, practiceHours, lookOnly = false } = question;
  return wearCourse(
    {
      points,
      ledger,
      hoursKnown: stylus.startHours !== null,
      habit: presentHabit(ledger, habits, today),
      limitUm: stylus.limitUm,
      hoursBand: practiceHours,
      today,
      lastLook: dates.reduce<string | null>((last, day) => (last === null || day > last ? day : last), null),
      retired: stylus.retired !== null,
      lookOnly,
    },
    fitOnce,
  );
}

type Gathered = ReturnType<typeof ledgerOf> & {
  readonly stylus: Stylus;
  readonly points: readonly FlatPoint[];
  readonly dates: readonly string[];
};

const gathered = (db: Database, stylusId: string, today: string): Gathered =>
  remembered(db, `points ${stylusId} ${today}`, () => {
    const stylus = readStylus(db, stylusId);
    const measured = measuredFlats(db, stylusId);
    const known = ledgerOf(db, stylusId, today);
    const dates = measured.captures.flatMap(({ taken }) => (taken === null ? [] : [taken.wall.slice(0, 10)]));
    return { ...known, stylus, points: flatPoints(measured, known.ledger), dates };
  });

/**
 * Has the laws of a stylus at hand before its course is asked for, where there are so many points that a fit here would
 * hold everybody up: from an earlier start, or fitted in the pictures' thread when that has nothing else to do. Whatever
 * goes wrong there, the course fits them itself.
 */
export async function fitAside(
  { collection, pictures }: Pick<Context, 'collection' | 'pictures'>,
  stylusId: string,
  today: string = todayHere(),
  beforeFit: () => Promise<void> = async () => undefined,
): Promise<void> {
  const { stylus, points } = gathered(collection.db, stylusId, today);
  const unknownStart = stylus.startHours === null;
  for (const side of ['left', 'right'] as const) {
    const own = wearPoints(points, side);
    if (own.length < MANY_POINTS || isFitted(own, unknownStart)) continue;
    const wall = { stylusId, side };
    if (await recallLaw(collection, wall, own, unknownStart)) continue;
    await beforeFit();
    // Somebody may have opened that stylus meanwhile.
    if (isFitted(own, unknownStart)) continue;
    const job = { points: own, unknownStart };
    const options = { timeLimitMs: FIT_LIMIT_MS, afterOthers: true };
    const law = await pictures.run('law', job, options).catch(() => null);
    if (!law?.ok) continue;
    keepLaw(own, unknownStart, law.value);
    if (law.value !== null) await storeLaw(collection, wall, own, unknownStart, law.value);
  }
}

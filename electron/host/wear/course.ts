import {
  type Fitter,
  fit,
  flatPoints,
  presentHabit,
  wearCourse,
  type WearPoint,
} from '../../../core/wear/index.ts';
import type { WearCourse } from '../../../shared/index.ts';
import { capturesOf } from '../store/captures.ts';
import { comparisonsOf } from '../store/comparisons.ts';
import type { Database } from '../store/database.ts';
import { ledgerOf } from '../store/hours.ts';
import { remembered } from '../store/memo.ts';
import { readStylus } from '../store/styluses.ts';

/** A fit costs some tens of milliseconds; the same points have the same law. */
const KEPT = 100;
const kept = new Map<string, ReturnType<Fitter>>();

const fitOnce: Fitter = (points: readonly WearPoint[], unknownStart: boolean) => {
  const key = JSON.stringify([unknownStart, points]);
  const known = kept.get(key);
  if (known !== undefined) return known;
  const law = fit(points, unknownStart);
  kept.set(key, law);
  if (kept.size > KEPT) kept.delete(kept.keys().next().value!);
  return law;
};

export type CourseQuestion = {
  readonly today: string;
  /** Hours between which people think about replacing; the person's own setting. */
  readonly practiceHours: readonly [number, number];
  readonly lookOnly?: boolean;
};

/** Wear against hours of one stylus, from what is stored; nothing of it is stored itself. */
export const courseOf = (db: Database, stylusId: string, question: CourseQuestion): WearCourse =>
  remembered(db, `course ${stylusId} ${JSON.stringify(question)}`, () => makeCourse(db, stylusId, question));

function makeCourse(
  db: Database,
  stylusId: string,
  { today, practiceHours, lookOnly = false }: CourseQuestion,
): WearCourse {
  const stylus = readStylus(db, stylusId);
  const captures = capturesOf(db, stylusId, 'without-lines');
  const comparisons = comparisonsOf(db, stylusId, captures, 'without-lines');
  const { ledger, habits } = ledgerOf(db, stylusId, today);
  const dates = captures.flatMap(({ taken }) => (taken === null ? [] : [taken.wall.slice(0, 10)]));
  return wearCourse(
    {
      points: flatPoints({ captures, comparisons }, ledger),
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

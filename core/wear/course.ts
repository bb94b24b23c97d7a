import type { WallCourse, WearCourse } from '../../shared/index.ts';
import { dateAtHours } from './dates.ts';
import type { FlatPoint } from './flat-points.ts';
import { fitWearLaw, hoursToReach, predictWidth, type WearLaw, type WearPoint } from './law.ts';
import { nextLook } from './next-look.ts';
import { type HoursLedger, type PresentHabit, whyNoHabit } from './playing-time.ts';

/** Wear of one stylus against its hours: the law of each wall, its band, the person's limit, the next look. */
export type CourseInput = {
  readonly points: readonly FlatPoint[];
  readonly ledger: HoursLedger;
  readonly hoursKnown: boolean;
  readonly habit: PresentHabit | null;
  /** The person's own limit, um. */
  readonly limitUm: number | null;
  /** Hours at which people think of replacing (common practice, settable). */
  readonly hoursBand: readonly [number, number];
  readonly today: string;
  readonly lastLook: string | null;
  readonly retired: boolean;
  /** Only the next look is wanted: no band, and no fit where no limit asks for one. */
  readonly lookOnly?: boolean;
};

/** Fits a law once for the same points, whoever asks. */
export type Fitter = (points: readonly WearPoint[], unknownStart: boolean) => WearLaw | null;

/** Where nobody knows the hours before, the width at 0 is that of a used stylus: almost anything. */
const ANY_START = [5, 10] as const;
export const fit: Fitter = (points, unknownStart) =>
  fitWearLaw(points, unknownStart ? { startUm: ANY_START } : {});

const SAMPLES = 48;
/** Expanded uncertainties of pictures are t u with many degrees of freedom: k = 2. */
const COVERAGE_FACTOR = 2;

export function wearCourse(input: CourseInput, fitter: Fitter = fit): WearCourse {
  const { points, ledger, habit, today, hoursKnown } = input;
  const hoursNow = ledger.at(null).hours;
  const left = wallCourse(input, 'left', hoursNow, fitter);
  const right = wallCourse(input, 'right', hoursNow, fitter);
  const lows = [left, right].flatMap((wall) => wall?.limit?.hours.low ?? []);
  const uneven = drifted(points);
  const look = nextLook({
    today,
    lastLook: input.lastLook,
    hoursNow: hoursKnown ? hoursNow : null,
    hoursPerWeek: habit?.hoursPerWeek ?? null,
    hoursBand: input.hoursBand,
    limitHoursLow: lows.length === 0 || input.retired ? null : Math.min(...lows),
    uneven,
  });
  return {
    left,
    right,
    uneven,
    habit,
    hoursKnown,
    hoursNow,
    sentences: sentences(input, left, right),
    look,
  };
}

/** Points of one wall with their hours; the law needs two different hours at least. */
export function wearPoints(points: readonly FlatPoint[], side: 'left' | 'right'): WearPoint[] {
  return points.flatMap(({ side: own, hours, hoursStandard, width }) =>
    own === side && hours !== null
      ? [
          {
            hours,
            hoursStandard,
            widthUm: width.value,
            widthStandard: Math.max(width.expanded / COVERAGE_FACTOR, 0.01),
          },
        ]
      : [],
  );
}

function wallCourse(
  input: CourseInput,
  side: 'left' | 'right',
  hoursNow: number,
  fitter: Fitter,
): WallCourse | null {
  if (input.lookOnly === true && (input.limitUm === null || input.retired)) return null;
  const points = wearPoints(input.points, side);
  if (new Set(points.map((p) => p.hours)).size < 2) return null;
  const law = fitter(points, !input.hoursKnown);
  if (law === null) return null;
  const last = Math.max(1.4 * law.lastHours, 1.2 * hoursNow, 1.1 * input.hoursBand[1]);
  const band = input.lookOnly === true ? [] : bandOf(law, last);
  const { exponent, rate, startUm, pointCount, widened } = law;
  return { pointCount, exponent, rate, startUm, widened, band, limit: limitOf(input, law, hoursNow) };
}

type Band = WallCourse['band'];
const bands = new WeakMap<WearLaw, { readonly last: number; readonly band: Band }>();

/** The band up to so many hours; kept with its law, which a note or an hour more of playing does not change. */
function bandOf(law: WearLaw, last: number): Band {
  const known = bands.get(law);
  if (known?.last === last) return known.band;
  const band = Array.from({ length: SAMPLES }, (_, i) => {
    // Closer together where the law is steep.
    const hours = last * (i / (SAMPLES - 1)) ** 2;
    return { hours, ...predictWidth(law, hours) };
  });
  bands.set(law, { last, band });
  return band;
}

const finite = (value: number): number | null => (Number.isFinite(value) ? value : null);

function limitOf(input: CourseInput, law: WearLaw, hoursNow: number): WallCourse['limit'] {
  if (input.limitUm === null) return null;
  const { low, value, high } = hoursToReach(law, input.limitUm);
  const perWeek = input.habit?.hoursPerWeek ?? 0;
  const date = (hours: number): string | null =>
    Number.isFinite(hours) ? dateAtHours(input.today, hoursNow, hours, perWeek) : null;
  const dates =
    perWeek > 0 && !input.retired ? { low: date(low), value: date(value), high: date(high) } : null;
  return { hours: { low: finite(low), value: finite(value), high: finite(high) }, dates };
}

/** At the last look both walls were measured and differ by more than both uncertainties together. */
function drifted(points: readonly FlatPoint[]): boolean {
  let newest: FlatPoint | undefined;
  for (const point of points)
    if (newest === undefined || (point.date ?? '') >= (newest.date ?? '')) newest = point;
  const last = newest?.captureId;
  const [left, right] = (['left', 'right'] as const).map((side) =>
    points.find((point) => point.captureId === last && point.side === side),
  );
  if (left === undefined || right === undefined) return false;
  return (
    Math.abs(left.width.value - right.width.value) > Math.hypot(left.width.expanded, right.width.expanded)
  );
}

/** What a few points do not say, in words. */
function sentences(input: CourseInput, left: WallCourse | null, right: WallCourse | null): string[] {
  const said: string[] = [];
  const most = Math.max(left?.pointCount ?? 0, right?.pointCount ?? 0);
  if (most === 0)
    return ['A wear law needs two pictures with a date at different hours; until then nothing is forecast.'];
  if (most === 2)
    said.push(
      'Two points say little: the exponent is the belief (3 to 4) put into the fit, not a finding, and the band is as wide as that leaves it.',
    );
  else if (most <= 4) said.push(`${most} points say something, and not much: look at the width of the band.`);
  const widened = Math.max(left?.widened ?? 1, right?.widened ?? 1);
  if (widened > 1)
    said.push(
      `The points scatter ${widened.toFixed(1)} times more than their uncertainties allow, so the band was widened by that.`,
    );
  if (!input.hoursKnown)
    said.push(
      'The hours before the daybook are not known: hours count from its start, and the width at that time is left open.',
    );
  if (input.habit === null && input.limitUm !== null && !input.retired)
    said.push(whyNoHabit(input.ledger, input.today));
  return said;
}

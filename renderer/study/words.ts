import { combineBudget } from '../../core/uncertainty/budget.ts';
import type { Capture, Counted, StudyPage, StudySeen } from '../../shared/index.ts';
import { formatPlain, lengthUnit, NBSP, type LengthUnit } from '../format.ts';

/** What a study says, in sentences. Pure. */

/** As in the core (core/uncertainty/repeatability.ts): fewer say too little about a spread. */
export const LEAST = 5;

type Result = NonNullable<StudySeen['result']>;
type Spread = Result['radius'];
const SIDES = ['left', 'right'] as const;

/** Two significant digits, as of an uncertainty. */
export function small(um: number, unit: LengthUnit): string {
  const { factor, symbol } = lengthUnit(unit, 'um');
  return `${Number((um * factor).toPrecision(2))}${NBSP}${symbol}`;
}

/** U of one reading, or of the difference of two, from the scatter alone: t(95.45 %, n - 1) s. */
const expandedOf = ({ single, degreesOfFreedom }: Spread, times = 1): number =>
  combineBudget([{ source: '', standard: times * single, type: 'A', degreesOfFreedom }]).expanded;

export function resultSentences(result: Result, unit: LengthUnit): string[] {
  const walls = SIDES.flatMap((side) => {
    const one = result[side];
    return one === null ? [] : [{ side, one }];
  });
  if (walls.length === 0)
    return [
      'No wall shows a flat in every picture, so nothing can be said about reading one. Repeat the study with a stylus whose flats are seen.',
    ];
  const scatter = walls
    .map(({ side, one }) => `${small(one.single, unit)} on the ${side} wall`)
    .join(' and ');
  const widest = walls.reduce((a, b) => (b.one.single > a.one.single ? b : a)).one;
  const fit = walls.map(({ one }) => one.fit).reduce((a, b) => Math.max(a, b));
  return [
    `One reading of yours scatters by ${scatter} (standard deviation of one reading, from ${result.count} pictures).`,
    `From that alone a width is good to ±${NBSP}${small(expandedOf(widest), unit)}, and a change between two pictures has to exceed ${small(expandedOf(widest, Math.SQRT2), unit)} before it says anything; more pictures bring both down.`,
    fit >= widest.single
      ? 'That is no more than the noise of the measurement itself: your placing adds nothing that could be seen.'
      : `The measurement itself would scatter by ${small(fit, unit)}; the rest is placing, focus and light.`,
    ...(walls.length === 1
      ? [
          `The other wall shows no flat in every picture; it is taken to scatter like the ${walls[0].side} one.`,
        ]
      : []),
    `The tip radius scatters by ${small(result.radius.single, unit)}.`,
  ];
}

export const progressText = (readings: number): string =>
  readings < LEAST
    ? `${readings} of at least ${LEAST}`
    : `${readings} readings, at least ${LEAST} were needed`;

export type ReadingText = {
  readonly left: string;
  readonly right: string;
  readonly radius: string;
  readonly verdict: string;
  readonly good: boolean;
};

const NONE = { left: '–', right: '–', radius: '–', good: false };

/** One picture's reading and what it is worth to the study. */
export function readingText({ examination }: Capture, unit: LengthUnit): ReadingText {
  if (examination === null) return { ...NONE, verdict: 'Not read yet' };
  if (!examination.ok) return { ...NONE, verdict: `Not used: ${examination.reason.message}` };
  const { flats, tip } = examination;
  if (flats === undefined || tip === undefined)
    return { ...NONE, verdict: 'Not used: no tip outline was measured in it.' };
  const { factor, symbol } = lengthUnit(unit, 'um');
  const digits = unit === 'um' ? 2 : 4;
  const text = (um: number): string => formatPlain(um * factor, digits, symbol);
  const seen = SIDES.filter((side) => flats[side].detected);
  const unseen = SIDES.filter((side) => !flats[side].detected);
  return {
    left: flats.left.detected ? text(flats.left.widthUm.value) : 'no flat seen',
    right: flats.right.detected ? text(flats.right.widthUm.value) : 'no flat seen',
    radius: text(tip.radiusUm.value),
    good: seen.length > 0,
    verdict:
      unseen.length === 0
        ? 'Good'
        : seen.length === 0
          ? 'Good for the radius only: no flat is seen'
          : `Good for the ${seen[0]} wall; no flat is seen on the ${unseen[0]} one`,
  };
}

/** Whether this study counts, and what keeps it from it. */
export function countingText(seen: StudySeen, counted: readonly Counted[]): string {
  const { study } = seen;
  const group = counted.find((one) => one.studyIds.includes(study.id));
  if (group === undefined)
    return `This study does not count yet. Nothing measured with “${study.microscope}” knows of it.`;
  if (group.problem !== null) return group.problem;
  const others = group.studyIds.length - 1;
  const test =
    group.test === null
      ? ''
      : ` Their spreads are alike: the largest ratio of two variances is ${group.test.ratio.toFixed(1)}, and by chance it stays below ${group.test.limit.toFixed(1)} (F test, 5${NBSP}%).`;
  return others === 0
    ? `This study counts: every examination and comparison of front views with “${study.microscope}” has it in its uncertainty.`
    : `This study counts, pooled with ${others} other${others === 1 ? '' : 's'}.${test}`;
}

export const unread = ({ captures }: StudyPage): Capture[] =>
  captures.filter((one) => one.examination === null);

import { dayWords, grouped, type Cause, type CauseAnswer, type Measured } from '../../shared/index.ts';
import { input, PRACTICE, silent, speaks, unknown } from './advice-words.ts';
import { LISTENING_RULES } from './advice-listening.ts';
import { roundTogether } from '../uncertainty/rounding.ts';
import type { AdviceOutcome } from './advice.ts';

export type WallName = 'left' | 'right';
/** Flat of one groove wall, um, with its expanded uncertainty and what the picture could have shown at all. */
export type WallEvidence = {
  readonly value: number;
  readonly expanded: number;
  readonly detected: boolean;
  readonly detectionLimit: number;
};

/** What is known about a stylus today. null means not known, never "fine". */
export type Evidence = {
  /** YYYY-MM-DD */
  readonly today: string;
  readonly lastLook: string | null;
  /** Day of the newest front picture where nobody has measured it yet and the walls are known from an earlier one; else null. */
  readonly newerPicture: string | null;
  /** Hours on the stylus and whether its whole history is known. */
  readonly hoursNow: number | null;
  readonly historyKnown: boolean;
  readonly hoursPerWeek: number | null;
  readonly hoursBand: readonly [number, number];
  readonly left: WallEvidence | null;
  readonly right: WallEvidence | null;
  /** Picture left and right were mirrored by the camera; null: nobody said. */
  readonly mirrored: boolean | null;
  /** The person's own limit for a flat, um. There is no published one. */
  readonly limitUm: number | null;
  /** Total hours at which the fitted law reaches that limit: 95 % range. */
  readonly limitHours: { readonly low: number; readonly high: number } | null;
  readonly chip: Finding;
  readonly bentCantilever: Finding;
  readonly diamond: 'sound' | 'missing' | 'leaning' | 'turned' | 'not-seen';
  readonly diamondConfirmed: boolean;
  readonly residue: 'none' | 'seen' | 'stays-after-cleaning' | 'not-seen';
  /** Listening with known passages against the last time. */
  readonly listening: 'same' | 'worse' | 'unsure' | 'not-done';
  /** Two recordings of the same band or passage; null where there are no two. */
  readonly recorded: RecordedChange;
  /** Other causes, each as the person answered it. */
  readonly causes: Readonly<Record<Cause, CauseAnswer['answer']>>;
  /** Cartridge set-up checked since the walls began to differ, or since it sounds worse. */
  readonly setUpChecked: boolean;
};

export type RecordedChange = {
  /** THD of a test band then and now, per cent. */
  readonly thd: { readonly band: string; readonly earlier: Measured; readonly later: Measured } | null;
  /** Change above 5 kHz, dB, of the channel that changed most. */
  readonly above5k: { readonly passage: string; readonly changeDb: Measured } | null;
};

/** 'suspected' by the program, 'confirmed' or 'rejected' by the person, 'none' looked for and not there. */
export type Finding = 'none' | 'suspected' | 'confirmed' | 'rejected' | 'not-looked';

export type Answer = {
  readonly state: 'speaks' | 'silent' | 'unknown';
  readonly sentence: string;
  readonly inputs: { readonly name: string; readonly value: string }[];
};
export type Rule = {
  readonly id: string;
  readonly outcome: AdviceOutcome;
  readonly source: string;
  readonly ask: (e: Evidence) => Answer;
};

const OWN = 'your own setting; no published limit was found';

/** No-break space before the unit. */
const um = (wall: WallEvidence): string => {
  const { value, expanded } = roundTogether(wall.value, wall.expanded);
  return `${value} \u00b1 ${expanded}\u00a0\u00b5m`;
};
const wallInputs = (e: Evidence): Answer['inputs'] => [
  input('flat left', e.left && um(e.left)),
  input('flat right', e.right && um(e.right)),
];
/** As it was typed, without what counting mil in \u00b5m leaves behind it. */
const limitInput = ({ limitUm }: Evidence): Answer['inputs'][number] =>
  input('your limit, \u00b5m', limitUm === null ? null : String(Number(limitUm.toPrecision(4))));
const worst = (e: Evidence): WallEvidence | null =>
  e.left && e.right ? (e.left.value > e.right.value ? e.left : e.right) : (e.left ?? e.right);

type FindingWords = {
  readonly id: string;
  readonly name: string;
  readonly key: 'chip' | 'bentCantilever';
  /** What to do about one that is only suspected, and what decides it. */
  readonly first: AdviceOutcome;
  readonly decide: string;
};

function findingRule({ id, name, key, first, decide }: FindingWords): Rule[] {
  return [
    {
      id,
      outcome: 'take-off',
      source: PRACTICE,
      ask: (e) => {
        const value = input(name, e[key]);
        if (e[key] === 'confirmed') return speaks(`You confirmed a ${name}: playing ends here.`, value);
        if (e[key] === 'not-looked') return unknown(`Whether there is a ${name} was not looked at.`, value);
        return silent(`No ${name} is confirmed.`, value);
      },
    },
    {
      id: `${id}-suspected`,
      outcome: first,
      source: 'evidence of one picture',
      ask: (e) =>
        e[key] === 'suspected'
          ? speaks(`A ${name} is suspected. ${decide}`, input(name, e[key]))
          : silent(`No ${name} waits to be confirmed.`, input(name, e[key])),
    },
  ];
}

const diamondRule: Rule = {
  id: 'diamond',
  outcome: 'take-off',
  source: PRACTICE,
  ask: (e) => {
    const inputs = [input('diamond', e.diamond), input('confirmed by you', e.diamondConfirmed)];
    if (e.diamond === 'not-seen') return unknown('The diamond was not seen from the side.', ...inputs);
    if (e.diamond === 'sound') return silent('The diamond is there and stands straight.', ...inputs);
    return e.diamondConfirmed
      ? speaks(`You confirmed that the diamond is ${e.diamond}: playing ends here.`, ...inputs)
      : silent(`The diamond may be ${e.diamond}; nobody has confirmed it.`, ...inputs);
  },
};

const diamondSuspected: Rule = {
  id: 'diamond-suspected',
  outcome: 'look-again',
  source: 'evidence of one picture',
  ask: (e) => {
    const open = !e.diamondConfirmed && e.diamond !== 'sound' && e.diamond !== 'not-seen';
    const value = input('diamond', e.diamond);
    return open
      ? speaks(`The diamond may be ${e.diamond}. Look again before anything is played.`, value)
      : silent('Nothing about the diamond waits to be confirmed.', value);
  },
};

const limitPassed: Rule = {
  id: 'limit-passed',
  outcome: 'take-off',
  source: OWN,
  ask: (e) => {
    const inputs = [...wallInputs(e), limitInput(e)];
    const wall = worst(e);
    if (e.limitUm === null || wall === null)
      return unknown('Whether your limit is passed is not known.', ...inputs);
    return wall.detected && wall.value - wall.expanded > e.limitUm
      ? speaks('A flat is wider than your own limit, beyond its uncertainty.', ...inputs)
      : silent('No flat is surely wider than your own limit.', ...inputs);
  },
};

const limitNear: Rule = {
  id: 'limit-near',
  outcome: 'order-one',
  source: OWN,
  ask: (e) => {
    const inputs = [
      ...wallInputs(e),
      limitInput(e),
      input(
        'reached at hours',
        e.limitHours &&
          `${grouped(e.limitHours.low)} to ${Number.isFinite(e.limitHours.high) ? grouped(e.limitHours.high) : 'perhaps never'}`,
      ),
      input('hours now', e.hoursNow),
      input('hours a week', e.hoursPerWeek),
    ];
    const wall = worst(e);
    if (e.limitUm === null || wall === null)
      return unknown('How near your limit is, is not known.', ...inputs);
    if (wall.detected && wall.value + wall.expanded > e.limitUm)
      return speaks('Within its uncertainty a flat may have reached your own limit.', ...inputs);
    if (e.limitHours === null || e.hoursNow === null || e.hoursPerWeek === null)
      return unknown('The date on which your limit will be reached is not known.', ...inputs);
    const weeks = (e.limitHours.low - e.hoursNow) / Math.max(1e-9, e.hoursPerWeek);
    return weeks < 26
      ? speaks('Your own limit may be reached within half a year.', ...inputs)
      : silent('Your own limit is at least half a year away.', ...inputs);
  },
};

const historyUnknown: Rule = {
  id: 'history-unknown',
  outcome: 'order-one',
  source: `${PRACTICE}: used deck, history unknown, fit a new stylus`,
  ask: (e) =>
    e.historyKnown
      ? silent('The history of this stylus is known.', input('history', 'known'))
      : speaks('Nobody knows how long this stylus has played: replace it.', input('history', 'not known')),
};

const hoursSpent: Rule = {
  id: 'hours-spent',
  outcome: 'order-one',
  source: `${PRACTICE}; none of it is a standard`,
  ask: (e) => {
    const inputs = [input('hours now', e.hoursNow), input('band, h', e.hoursBand.map(grouped).join(' to '))];
    if (e.hoursNow === null) return unknown('The hours played are not known.', ...inputs);
    return e.hoursNow >= e.hoursBand[1]
      ? speaks('It has played longer than the hours at which people replace a stylus.', ...inputs)
      : silent('The hours have not passed the upper end of the usual band.', ...inputs);
  },
};

const residueRule: Rule = {
  id: 'residue',
  outcome: 'clean-and-look',
  source: PRACTICE,
  ask: (e) => {
    const value = input('residue', e.residue);
    if (e.residue === 'seen')
      return speaks(
        'Residue was seen or is suspected on the tip: clean it and take the picture again.',
        value,
      );
    if (e.residue === 'not-seen') return unknown('Whether residue sits on the tip was not looked at.', value);
    return silent('No loose residue is in the way.', value);
  },
};

const residueStays: Rule = {
  id: 'residue-stays',
  outcome: 'order-one',
  source: PRACTICE,
  ask: (e) =>
    e.residue === 'stays-after-cleaning'
      ? speaks(
          'Residue stays after cleaning: a finding of its own. What it hides cannot be judged.',
          input('residue', e.residue),
        )
      : silent('No residue resisted cleaning.', input('residue', e.residue)),
};

const wallsUneven: Rule = {
  id: 'walls-uneven',
  outcome: 'check-set-up',
  source: `${PRACTICE}; geometry of the groove`,
  ask: (e) => {
    const inputs = [...wallInputs(e), input('set-up checked since', e.setUpChecked ? 'yes' : 'no')];
    if (!e.left || !e.right) return unknown('Left and right cannot be compared.', ...inputs);
    const gap = Math.abs(e.left.value - e.right.value);
    if (gap <= Math.hypot(e.left.expanded, e.right.expanded))
      return silent('Left and right agree within their uncertainty.', ...inputs);
    const sentence = unevenSentence(e, e.left.value > e.right.value ? 'left' : 'right');
    return e.setUpChecked
      ? silent(
          `${sentence} You have checked the set-up since; the next look shows whether it helped.`,
          ...inputs,
        )
      : speaks(sentence, ...inputs);
  },
};

/** In a front view that is not mirrored, picture left is the inner wall, nearer to the spindle: the left channel. */
function unevenSentence(e: Evidence, wall: WallName): string {
  if (e.mirrored === null)
    return `The ${wall} side of the picture wears more. Say whether the camera mirrors, then the wall can be named.`;
  const inner = (wall === 'left') !== e.mirrored;
  return inner
    ? `The inner wall (left channel, ${wall} in the picture) wears more: check anti-skating (too little of it wears this wall faster), alignment and tracking force.`
    : `The outer wall (right channel, ${wall} in the picture) wears more: check anti-skating (too much of it wears this wall faster), alignment and tracking force.`;
}

const newerPicture: Rule = {
  id: 'newer-picture',
  outcome: 'cannot-tell',
  source: 'evidence of one picture',
  ask: (e) => {
    const value = input('newer front picture', e.newerPicture === null ? 'none' : dayWords(e.newerPicture));
    return e.newerPicture === null
      ? silent('No newer front picture waits to be measured.', value)
      : speaks('A newer front picture has not been measured yet: compare or examine it.', value);
  },
};

const wallsBelowLimit: Rule = {
  id: 'walls-below-limit',
  outcome: 'play-on',
  source: 'measured flats and what the picture could have shown',
  ask: (e) => {
    const inputs = wallInputs(e);
    if (!e.left || !e.right) return unknown('The flats were not measured.', ...inputs);
    const seen = Math.max(e.left.detectionLimit, e.right.detectionLimit);
    if (e.limitUm !== null && seen > e.limitUm)
      return unknown('The picture could not have shown a flat at your own limit.', ...inputs);
    return speaks('Both flats are measured, and nothing in them ends playing.', ...inputs);
  },
};

export const RULES: readonly Rule[] = [
  ...findingRule({
    id: 'chip',
    name: 'chip',
    key: 'chip',
    first: 'look-again',
    decide: 'Clean, take the picture again, then confirm or reject it; dirt goes, a chip stays.',
  }),
  ...findingRule({
    id: 'bent-cantilever',
    name: 'bent cantilever',
    key: 'bentCantilever',
    first: 'look-again',
    decide:
      'Cleaning settles nothing here: take a picture from another side as well (side, below or above), hold it against the baseline, then confirm or reject it. Do not bend it back; what may be done about one stands in its maker\u2019s instructions.',
  }),
  diamondRule,
  diamondSuspected,
  limitPassed,
  limitNear,
  historyUnknown,
  hoursSpent,
  residueRule,
  residueStays,
  wallsUneven,
  ...LISTENING_RULES,
  newerPicture,
  wallsBelowLimit,
];

import { dayWords } from '../../shared/index.ts';
import { nextLook, type NextLook } from './next-look.ts';
import { CAUSE_NAMES, openCauses } from './advice-listening.ts';
import { type Evidence, type Rule, RULES, type WallName } from './advice-rules.ts';

export type { Evidence, RecordedChange, WallEvidence } from './advice-rules.ts';

/** What can be said, the most urgent first. */
export const ADVICE_OUTCOMES = [
  'take-off',
  // What may cut a record comes before what only wears it: a new stylus can be ordered while nothing is played.
  'look-again',
  'order-one',
  'clean-and-look',
  'check-set-up',
  'cannot-tell',
  'play-on',
] as const;
export type AdviceOutcome = (typeof ADVICE_OUTCOMES)[number];

/** One rule with what went in and what it says; nothing is decided anywhere else. */
export type AdviceStep = {
  readonly rule: string;
  /** 'speaks': the rule applies; 'silent': it was asked and does not; 'unknown': something it needs is not known. */
  readonly state: 'speaks' | 'silent' | 'unknown';
  readonly outcome: AdviceOutcome;
  readonly sentence: string;
  readonly inputs: readonly { readonly name: string; readonly value: string }[];
  /** Where the rule comes from: geometry, common practice, or the person's own setting. */
  readonly source: string;
};

export type Advice = {
  readonly outcome: AdviceOutcome;
  /** What that asks for, in one sentence; it stands after the outcome's own words and does not repeat them. */
  readonly sentence: string;
  /** The wall that wears more, as the picture shows it. */
  readonly wall: WallName | null;
  /** The same wall by its place in the groove; null where nobody said whether the camera mirrors. */
  readonly wallInGroove: { readonly side: 'inner' | 'outer'; readonly channel: WallName } | null;
  readonly look: NextLook;
  readonly steps: readonly AdviceStep[];
  /** What nobody can tell from this evidence. */
  readonly unknown: readonly string[];
  /** Other causes of what is heard, to be ruled out first. */
  readonly ruleOutFirst: readonly string[];
};

/** Evidence in, advice out: the most urgent of the rules that speak; every rule stays visible. */
export function adviseOn(evidence: Evidence): Advice {
  const steps = RULES.map((rule): AdviceStep => asked(rule, evidence));
  const speaking = steps.filter((step) => step.state === 'speaks');
  const sees = steps.some((step) => step.rule === 'walls-below-limit' && step.state === 'speaks');
  const outcome =
    ADVICE_OUTCOMES.find((o) => speaking.some((step) => step.outcome === o)) ??
    (sees ? 'play-on' : 'cannot-tell');
  const unevenSpeaks = speaking.some((step) => step.rule === 'walls-uneven');
  const look = nextLook({
    today: evidence.today,
    lastLook: evidence.lastLook,
    hoursNow: evidence.hoursNow,
    hoursPerWeek: evidence.hoursPerWeek,
    hoursBand: evidence.hoursBand,
    limitHoursLow: evidence.limitHours?.low ?? null,
    uneven: unevenSpeaks,
  });
  const { left, right, mirrored } = evidence;
  const gap = left !== null && right !== null && steps.some(isUneven);
  const wall = gap ? (left.value > right.value ? 'left' : 'right') : null;
  return {
    outcome,
    sentence: SENTENCES[outcome](look, evidence),
    wall,
    wallInGroove: wall === null || mirrored === null ? null : inGroove((wall === 'left') !== mirrored),
    look,
    steps,
    unknown: steps.filter((step) => step.state === 'unknown').map((step) => step.sentence),
    ruleOutFirst:
      evidence.listening === 'worse' ? openCauses(evidence).map((cause) => CAUSE_NAMES[cause]) : [],
  };
}

function asked(rule: Rule, evidence: Evidence): AdviceStep {
  const answer = rule.ask(evidence);
  return {
    rule: rule.id,
    state: answer.state,
    outcome: rule.outcome,
    sentence: answer.sentence,
    inputs: answer.inputs,
    source: rule.source,
  };
}

/** Uneven beyond the uncertainty, whether or not the set-up was checked since. */
const isUneven = (step: AdviceStep): boolean =>
  step.rule === 'walls-uneven' && (step.state === 'speaks' || step.sentence.includes('wears more'));

/** A front view, tip down, not mirrored, has the spindle on its left: the inner wall, the left channel. */
const inGroove = (inner: boolean) =>
  inner ? ({ side: 'inner', channel: 'left' } as const) : ({ side: 'outer', channel: 'right' } as const);

const SENTENCES: Record<AdviceOutcome, (look: NextLook, evidence: Evidence) => string> = {
  'take-off': () => 'Played on, it may damage records.',
  'order-one': () => 'A new stylus should be there before this one has to come off.',
  'look-again': () =>
    'Do not play it yet. Look again, from another side too and against the baseline; only then can it be judged.',
  'clean-and-look': () => 'Clean the stylus and take the picture again; only then can it be judged.',
  'check-set-up': () => 'Alignment, tracking force and anti-skating come before playing on.',
  'cannot-tell': (_look, { newerPicture }) =>
    newerPicture === null
      ? 'Take a dated picture from the front, with a scale.'
      : `Measure the picture of ${dayWords(newerPicture)} first: what is known is from an earlier one.`,
  'play-on': (look) =>
    look.overdue
      ? `Nothing speaks against it, but the next look was due on ${dayWords(look.date)}: take a picture first.`
      : `Look again by ${dayWords(look.date)}.`,
};

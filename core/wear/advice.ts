import { nextLook, type NextLook } from './next-look.ts';
import { type Evidence, type Rule, RULES, type WallName } from './advice-rules.ts';

export type { Evidence, WallEvidence } from './advice-rules.ts';

/** Six things that can be said, the most urgent first. */
export const ADVICE_OUTCOMES = [
  'take-off',
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
  /** What to do, in one sentence. */
  readonly sentence: string;
  readonly wall: WallName | null;
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
  const { left, right } = evidence;
  return {
    outcome,
    sentence: SENTENCES[outcome](look),
    wall: unevenSpeaks && left && right ? (left.value > right.value ? 'left' : 'right') : null,
    look,
    steps,
    unknown: steps.filter((step) => step.state === 'unknown').map((step) => step.sentence),
    ruleOutFirst: evidence.listening === 'worse' ? OTHER_CAUSES : [],
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

/** In the order in which they are cheap to check (practice). */
const OTHER_CAUSES = [
  'dirt on the stylus or in the groove',
  'alignment of the cartridge',
  'tracking force',
  'anti-skating',
  'the record itself',
] as const;

const SENTENCES: Record<AdviceOutcome, (look: NextLook) => string> = {
  'take-off': () => 'Take this stylus off now: it may damage records.',
  'order-one': () => 'Order a new stylus.',
  'clean-and-look': () => 'Clean the stylus and take the picture again; only then can it be judged.',
  'check-set-up': () => 'Check the set-up of the cartridge before playing on.',
  'cannot-tell': () =>
    'Nobody can tell from this evidence. Take a dated picture from the front, with a scale.',
  'play-on': (look) => `Play on, and look again by ${look.date}.`,
};

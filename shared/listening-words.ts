import type { GivenAdvice } from './advice.ts';
import type { Cause, CauseAnswer, ListeningCheck, Symptom } from './listening.ts';

/** The words of listening and advice, the same on the screen and on paper. How to check is practice; what the maker of the part says comes first. */
export const ADVICE_WORDS: Readonly<Record<GivenAdvice['outcome'], string>> = {
  'take-off': 'Take it off now',
  'order-one': 'Order one',
  'look-again': 'Look again before playing',
  'clean-and-look': 'Clean and look again',
  'check-set-up': 'Check the set-up',
  'cannot-tell': 'Cannot tell',
  'play-on': 'Play on',
};

/** In place of what to do, where the stylus is not in use any more. */
export const retiredText = ({ outcome }: Pick<GivenAdvice, 'outcome'>): string =>
  `It is retired, so nothing is due. For whoever would use it again the evidence comes to: ${ADVICE_WORDS[outcome].toLowerCase()}.`;

export const RULE_STATE_WORDS: Readonly<Record<GivenAdvice['steps'][number]['state'], string>> = {
  speaks: 'speaks',
  silent: 'silent',
  unknown: 'not known',
};

export const CAUSE_WORDS: Readonly<Record<Cause, { name: string; how: string }>> = {
  dirt: {
    name: 'Dirt',
    how: 'Look at the tip, brush it from the root of the cantilever to the tip, clean the record, and listen to the same passage again.',
  },
  alignment: {
    name: 'Alignment',
    how: 'With a protractor: at both null points the cartridge stands square to the lines. Check its height from the side too.',
  },
  'tracking-force': {
    name: 'Tracking force',
    how: 'With a stylus scale at the height of a record, anti-skating at zero while weighing. Compare with what the cartridge’s maker states.',
  },
  'anti-skating': {
    name: 'Anti-skating',
    how: 'Set it as the arm’s maker says, then play a loud inner band: distortion that comes in one channel first points at it. Too little wears the inner wall, the left channel, faster.',
  },
  azimuth: {
    name: 'Azimuth',
    how: 'From the front, with a small mirror on the platter: the cartridge and its mirror image form one straight line. Measured: equal separation left and right.',
  },
  record: {
    name: 'The record itself',
    how: 'Play a record that is known to be good, and the suspect one with another stylus. A groove that was damaged once stays so.',
  },
};

export const CAUSE_ANSWER_WORDS: Readonly<Record<CauseAnswer['answer'], string>> = {
  'not-checked': 'not checked',
  'in-order': 'in order',
  found: 'out of order',
  'put-right': 'was out of order, put right',
};

export const SYMPTOM_WORDS: Readonly<Record<Symptom, { name: string; how: string }>> = {
  'splashy-sibilants': {
    name: 'Splashing sibilants',
    how: 'S and T of a voice spit or smear, most near the end of a side.',
  },
  'grain-when-loud': {
    name: 'Grain on loud passages',
    how: 'A rough edge on brass, piano or choir when it gets loud.',
  },
  'one-channel': { name: 'One channel worse', how: 'The roughness sits on one side. Say which one.' },
  'inner-grooves': {
    name: 'Inner grooves worse than outer',
    how: 'The last song of a side against the first, equally loud.',
  },
  'new-mistracking': {
    name: 'New mistracking on a clean passage',
    how: 'Crackling or a buzz where this passage was always clean.',
  },
};

export const HEARD_WORDS: Readonly<Record<ListeningCheck['heard'][number]['answer'], string>> = {
  'not-listened': 'not listened for',
  'not-heard': 'not heard',
  'as-before': 'as before',
  new: 'new',
  worse: 'worse than before',
  better: 'better than before',
};

export const CLEANING_WORDS: Readonly<Record<ListeningCheck['cleaning'], string>> = {
  before: 'before cleaning',
  after: 'after cleaning',
  none: 'without cleaning',
};

export const VERDICT_WORDS: Readonly<Record<ListeningCheck['verdict'], string>> = {
  same: 'as before',
  better: 'better than before',
  worse: 'worse than before',
  unsure: 'cannot say',
};

export const GROOVE_WORDS = {
  outer: 'outer grooves',
  middle: 'middle of the side',
  inner: 'inner grooves',
  unknown: 'not known',
} as const;

/** "Splashing sibilants: new." and so on: the line that stands on the timeline and on the sheet. */
export function checkText(check: ListeningCheck, passages: readonly string[], own: string): string {
  const heard = check.heard
    .filter((one) => one.answer !== 'not-listened')
    .map(
      (one) =>
        `${SYMPTOM_WORDS[one.symptom].name.toLowerCase()}: ${HEARD_WORDS[one.answer]}${one.channel === '' ? '' : ` (${one.channel})`}`,
    );
  const about = passages.length > 0 ? `On ${passages.join(', ')}, ${CLEANING_WORDS[check.cleaning]}` : '';
  const parts = [
    about === '' ? `Listened ${CLEANING_WORDS[check.cleaning]}` : about,
    ...heard,
    `on the whole ${VERDICT_WORDS[check.verdict]}`,
  ];
  return `${parts.join('; ')}.${own === '' ? '' : `\n${own}`}`;
}

import type { Cause, Measured } from '../../shared/index.ts';
import { roundTogether } from '../uncertainty/rounding.ts';
import { input, PRACTICE, silent, speaks, unknown } from './advice-words.ts';
import type { Answer, Evidence, Rule } from './advice-rules.ts';

/** Rules about what is heard, what recordings show, and what else may be behind it. */
export const CAUSE_NAMES: Readonly<Record<Cause, string>> = {
  dirt: 'dirt on the stylus or in the groove',
  alignment: 'alignment of the cartridge',
  'tracking-force': 'tracking force',
  'anti-skating': 'anti-skating',
  azimuth: 'azimuth',
  record: 'the record itself',
};
const ALL = Object.keys(CAUSE_NAMES) as Cause[];
const SET_UP: readonly Cause[] = ['alignment', 'tracking-force', 'anti-skating', 'azimuth'];

const ruledOut = (e: Evidence, cause: Cause): boolean =>
  e.causes[cause] === 'in-order' || e.causes[cause] === 'put-right';
/** Causes that nobody has ruled out yet. */
export const openCauses = (e: Evidence): Cause[] => ALL.filter((cause) => !ruledOut(e, cause));
const found = (e: Evidence, causes: readonly Cause[]): Cause[] =>
  causes.filter((cause) => e.causes[cause] === 'found');
const named = (causes: readonly Cause[]): string => causes.map((cause) => CAUSE_NAMES[cause]).join(', ');

const ANSWERS = {
  'not-checked': 'not checked',
  'in-order': 'in order',
  found: 'out of order',
  'put-right': 'was out of order, put right',
} as const;
const causeInputs = (e: Evidence, causes: readonly Cause[]): Answer['inputs'] =>
  causes.map((cause) => input(CAUSE_NAMES[cause], ANSWERS[e.causes[cause]]));

const stated = ({ value, expanded }: Measured, unit: string): string => {
  const rounded = roundTogether(value, expanded);
  return `${rounded.value} \u00b1 ${rounded.expanded}\u00a0${unit}`.replaceAll('-', '\u2212');
};

/** More distortion, or less treble, than both recordings' repeatability explains. */
function recordedWorse({ recorded: { thd, above5k } }: Evidence): string | null {
  if (thd !== null) {
    const rise = thd.later.value - thd.earlier.value;
    // The segments of one recording repeat better than a needle put down again: a fifth more is asked for (practice).
    if (rise > Math.hypot(thd.later.expanded, thd.earlier.expanded) && rise > 0.2 * thd.earlier.value)
      return 'The recorded test band has more distortion than before: a fifth or more, and beyond its repeatability.';
  }
  if (above5k !== null && above5k.changeDb.value + above5k.changeDb.expanded < -1)
    return 'The recorded passage has lost more than 1\u00a0dB above 5\u00a0kHz, beyond its repeatability.';
  return null;
}

const recordedInputs = ({ recorded: { thd, above5k } }: Evidence): Answer['inputs'] => [
  input(
    thd === null ? 'test band, THD' : `${thd.band}, THD`,
    thd === null ? null : `${stated(thd.earlier, '%')}, now ${stated(thd.later, '%')}`,
  ),
  input(
    above5k === null ? 'passage above 5 kHz' : `${above5k.passage}, change above 5 kHz`,
    above5k === null ? null : stated(above5k.changeDb, 'dB'),
  ),
];

const soundsWorse = (e: Evidence): boolean => e.listening === 'worse' || recordedWorse(e) !== null;

const listening: Rule = {
  id: 'listening',
  outcome: 'check-set-up',
  source: PRACTICE,
  ask: (e) => {
    const inputs = [input('listening check', e.listening.replace('-', ' ')), ...causeInputs(e, ALL)];
    if (e.listening === 'not-done') return unknown('No listening check says how it sounds now.', ...inputs);
    if (e.listening === 'unsure')
      return unknown('The last listening check could not say how it sounds now.', ...inputs);
    if (e.listening !== 'worse') return silent('Listening gives no reason to change anything.', ...inputs);
    if (e.causes.record === 'found')
      return silent(
        'The record itself is at fault: what is heard on it says nothing about the stylus.',
        ...inputs,
      );
    const open = openCauses(e);
    return open.length > 0
      ? speaks(`It sounds worse than before. Rule out first: ${named(open)}.`, ...inputs)
      : silent(
          'It sounds worse, and everything else is ruled out: see the rule about what is left.',
          ...inputs,
        );
  },
};

const recorded: Rule = {
  id: 'recorded',
  outcome: 'check-set-up',
  source: 'your own recordings, each with its repeatability',
  ask: (e) => {
    const inputs = recordedInputs(e);
    if (e.recorded.thd === null && e.recorded.above5k === null)
      return unknown('There are no two recordings of one band or passage to compare.', ...inputs);
    const worse = recordedWorse(e);
    if (worse === null) return silent('The recordings show no change for the worse.', ...inputs);
    const open = openCauses(e);
    return open.length > 0
      ? speaks(`${worse} Rule out first: ${named(open)}.`, ...inputs)
      : silent(`${worse} Everything else is ruled out.`, ...inputs);
  },
};

const whatIsLeft: Rule = {
  id: 'what-is-left',
  outcome: 'order-one',
  source: PRACTICE,
  ask: (e) => {
    const inputs = causeInputs(e, ALL);
    return soundsWorse(e) && openCauses(e).length === 0
      ? speaks(
          'It sounds worse, and you have ruled out every other cause: the stylus is what is left.',
          ...inputs,
        )
      : silent('Nothing sounds worse that only the stylus could explain.', ...inputs);
  },
};

const dirtFound: Rule = {
  id: 'dirt-found',
  outcome: 'clean-and-look',
  source: PRACTICE,
  ask: (e) =>
    e.causes.dirt === 'found'
      ? speaks(
          'You found dirt: clean stylus and record, then look and listen again.',
          ...causeInputs(e, ['dirt']),
        )
      : silent('No dirt was found that is still there.', ...causeInputs(e, ['dirt'])),
};

const setUpFound: Rule = {
  id: 'set-up-found',
  outcome: 'check-set-up',
  source: PRACTICE,
  ask: (e) => {
    const wrong = found(e, SET_UP);
    return wrong.length > 0
      ? speaks(`Out of order and not put right yet: ${named(wrong)}.`, ...causeInputs(e, SET_UP))
      : silent('Nothing in the set-up is known to be out of order.', ...causeInputs(e, SET_UP));
  },
};

export const LISTENING_RULES: readonly Rule[] = [listening, recorded, whatIsLeft, dirtFound, setUpFound];

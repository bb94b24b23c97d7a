import type {
  Capture,
  EntryKind,
  PLAY_UNITS,
  Suspicion,
  View,
  MarkShape,
  MarkState,
} from '../shared/index.ts';

/** The words of the screens, in one place so that every screen says the same thing the same way. */
export const VIEW_WORDS: Readonly<Record<View, string>> = {
  front: 'Front (along the groove)',
  side: 'Side',
  'end-on': 'End-on (along the shank)',
  below: 'Cantilever from below',
  above: 'Cantilever from above',
};
export const VIEW_SHORT: Readonly<Record<View, string>> = {
  front: 'front',
  side: 'side',
  'end-on': 'end-on',
  below: 'from below',
  above: 'from above',
};

export const LIGHT_WORDS: Readonly<Record<Capture['light'], string>> = {
  backlit: 'From behind (silhouette)',
  ring: 'Ring light',
  'side-light': 'From one side',
  unknown: 'Not known',
};
/** For the columns of a table. */
export const LIGHT_SHORT: Readonly<Record<Capture['light'], string>> = {
  ...LIGHT_WORDS,
  backlit: 'From behind',
};

export const ENTRY_WORDS: Readonly<Record<EntryKind, string>> = {
  playing: 'Playing time',
  cleaning: 'Cleaning',
  listening: 'Listening check',
  'set-up': 'Set-up',
  note: 'Note',
  decision: 'Decision',
  replacement: 'Replacement',
};

export const PLAY_UNIT_WORDS: Readonly<Record<(typeof PLAY_UNITS)[number], string>> = {
  sides: 'sides',
  records: 'records',
  evenings: 'evenings',
  hours: 'hours',
  minutes: 'minutes',
};

/** "1 side", "2 sides", "3.5 records". */
export function amountText(amount: number, unit: (typeof PLAY_UNITS)[number]): string {
  const words = PLAY_UNIT_WORDS[unit];
  const shown = Number(amount.toPrecision(6));
  return `${shown}\u00a0${shown === 1 ? words.slice(0, -1) : words}`;
}

export const SUSPICION_WORDS: Readonly<Record<Suspicion['kind'], string>> = {
  chip: 'Chip',
  residue: 'Residue',
  'bent-cantilever': 'Bent cantilever',
  'missing-diamond': 'Missing diamond',
  'leaning-diamond': 'Leaning diamond',
  'turned-diamond': 'Turned diamond',
};

export const MARK_STATE_WORDS: Readonly<Record<MarkState, string>> = {
  suspected: 'suspected',
  confirmed: 'confirmed',
  rejected: 'rejected',
};
export const SHAPE_WORDS: Readonly<Record<MarkShape['type'], string>> = {
  point: 'Point',
  line: 'Line',
  outline: 'Outline',
  angle: 'Angle',
};

/** Shown where the hand is about to do the thing. All of it yields to what the maker of the part says. */
export const CAUTIONS = {
  handling: [
    'Mute or turn down the amplifier before touching stylus, cartridge or plugs.',
    'The tip is sharp and small enough to be swallowed. Keep it away from children and animals.',
    'The microscope’s barrel must not touch the cantilever. Put the guard back afterwards.',
    'Do not blow on the stylus with the mouth.',
  ],
  cleaning: [
    'Mute or turn down the amplifier first.',
    'Brush from the root of the cantilever to the tip only, never sideways; let the arm float.',
    'Liquids sparingly, and only as the cartridge’s maker allows: some loosen glue or attack the suspension, and advice differs.',
    'Do not blow with the mouth.',
  ],
  setUp: [
    'Mute or turn down the amplifier before touching stylus, cartridge or plugs.',
    'Tracking force and alignment: the cartridge maker’s instructions come first.',
    'Mains: an old deck may have a two-core lead without protective earth, a wrong voltage or frequency setting, or damaged flex. Do not plug it in before it has been checked, unplug it before opening it, follow local electrical codes and leave mains work to a qualified person.',
  ],
  sheet: ['A condition sheet records what was seen. It is no guarantee and no listening test.'],
  maker: 'What the maker of the part and your local codes say comes before anything on this screen.',
} as const;

import type { DECK_ANSWERS, STATEMENTS, VERDICTS } from './offer.ts';
import type { DeckPart, Offer } from './offer.ts';

/** The walk around a used turntable, the same on the screen and on paper. How to check is common practice. */
export const DECK_PART_WORDS: Readonly<Record<DeckPart, { name: string; how: string }>> = {
  'lead-and-plug': {
    name: 'Lead and plug',
    how: 'Unplugged: flex whole along its length and at both ends, plug whole, an earth wire or none.',
  },
  voltage: {
    name: 'Voltage and frequency',
    how: 'Unplugged: what the plate or selector says is what the socket gives.',
  },
  platter: {
    name: 'Platter',
    how: 'By hand: runs true, no wobble up and down, mat whole.',
  },
  bearing: { name: 'Bearing', how: 'By hand: turns long and silent, no play sideways, no grinding.' },
  drive: { name: 'Belt or wheel', how: 'Belt not stretched or sticky, idler wheel without flats or cracks.' },
  suspension: {
    name: 'Suspension',
    how: 'Deck level, transport screws known; the cantilever holds the body off the record.',
  },
  arm: { name: 'Arm', how: 'Straight, counterweight and headshell there, cueing height even.' },
  'arm-bearings': {
    name: 'Arm bearings',
    how: 'Balanced arm floats and swings freely both ways; no play when the headshell is held gently.',
  },
  lift: { name: 'Lift', how: 'Lowers slowly and straight down; automatic functions end where they should.' },
  cartridge: {
    name: 'Cartridge',
    how: 'Held firmly, wires on all pins, guard there, cantilever straight seen from the front.',
  },
  speed: {
    name: 'Speed',
    how: 'Only after lead and voltage are in order: stroboscope or timed turns, 33⅓ and 45.',
  },
  sound: { name: 'Sound', how: 'Only with a stylus that may touch a record: both channels, no hum.' },
};

export const DECK_ANSWER_WORDS: Readonly<Record<(typeof DECK_ANSWERS)[number], string>> = {
  'not-done': 'not done',
  'in-order': 'in order',
  doubtful: 'doubtful',
  faulty: 'faulty',
  'not-there': 'not there',
};

export const STATEMENT_WORDS: Readonly<Record<(typeof STATEMENTS)[number], string>> = {
  hours: 'hours played',
  'stylus-age': 'age of the stylus',
  serviced: 'serviced',
  'original-parts': 'original parts',
  works: 'works',
  other: 'something else',
};

export const VERDICT_OF_STATEMENT: Readonly<Record<(typeof VERDICTS)[number], string>> = {
  open: 'not looked into',
  'borne-out': 'borne out',
  contradicted: 'contradicted',
  'cannot-tell': 'cannot tell',
};

/** Faulty or doubtful at the mains: nothing is plugged in. */
export function mainsDoubt(offer: Pick<Offer, 'checks'>): boolean {
  const answerOf = (part: DeckPart) => offer.checks.find((one) => one.part === part)?.answer ?? 'not-done';
  return (['lead-and-plug', 'voltage'] as const).some((part) => answerOf(part) !== 'in-order');
}

/** Found with the deck plugged in, so they want its mains in order first. */
const POWERED: readonly DeckPart[] = ['speed', 'sound'];

/** Why a finding is not taken as one; null where nothing speaks against it. */
export function findingDoubt(offer: Pick<Offer, 'checks'>, part: DeckPart): string | null {
  const answer = offer.checks.find((one) => one.part === part)?.answer ?? 'not-done';
  if (!POWERED.includes(part) || answer === 'not-done' || answer === 'not-there' || !mainsDoubt(offer))
    return null;
  return 'Does not count yet: lead, plug and voltage are not all in order.';
}

/** Price and the costs that are known, and how many have no figure yet. */
export function reckoning({ price, costs }: Pick<Offer, 'price' | 'costs'>): {
  readonly known: number;
  readonly open: number;
} {
  const amounts = [price, ...costs.map((one) => one.amount)];
  return {
    known: amounts.reduce<number>((sum, amount) => sum + (amount ?? 0), 0),
    open: amounts.filter((amount) => amount === null).length,
  };
}

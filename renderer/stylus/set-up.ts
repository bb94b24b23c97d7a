import type { Entry, SetUp } from '../../shared/index.ts';
import { editable, NBSP, parseNumber } from '../format.ts';

/** What was set on the arm, as text, as numbers, and as words. Forces are kept in mN. */

/** Standard acceleration of gravity makes a gram-force (CGPM 1901). */
export const MN_PER_GRAM_FORCE = 9.80665;
export type ForceUnit = 'mN' | 'g';

export type SetUpText = Record<keyof SetUp, string> & { readonly forceUnit: ForceUnit };
type Key = keyof SetUp;

type Field = {
  readonly key: Key;
  readonly label: string;
  readonly unit: string;
  readonly hint: string;
  readonly least: number;
  readonly most: number;
};
/** In the unit that is kept; the two forces are asked in the person's. */
export const SET_UP_FIELDS: readonly Field[] = [
  {
    key: 'trackingForceMn',
    label: 'Tracking force',
    unit: 'mN',
    hint: 'As the gauge says',
    least: 0,
    most: 500,
  },
  {
    key: 'antiSkatingMn',
    label: 'Anti-skating, as a force',
    unit: 'mN',
    hint: 'If the arm has a scale in force',
    least: 0,
    most: 500,
  },
  {
    key: 'antiSkatingDial',
    label: 'Anti-skating, on the dial',
    unit: '',
    hint: 'The number on the dial, which is no force',
    least: 0,
    most: 100,
  },
  {
    key: 'overhangMm',
    label: 'Overhang',
    unit: 'mm',
    hint: 'Tip beyond the spindle',
    least: -100,
    most: 100,
  },
  { key: 'offsetDeg', label: 'Offset angle', unit: '°', hint: 'Cartridge to arm', least: -90, most: 90 },
  {
    key: 'azimuthDeg',
    label: 'Azimuth',
    unit: '°',
    hint: 'Leaning seen from the front',
    least: -45,
    most: 45,
  },
  {
    key: 'verticalAngleDeg',
    label: 'Vertical tracking angle',
    unit: '°',
    hint: 'If it was measured',
    least: -45,
    most: 90,
  },
];
const isForce = (key: Key): boolean => key === 'trackingForceMn' || key === 'antiSkatingMn';

export function setUpText(setUp: SetUp | null | undefined, forceUnit: ForceUnit = 'mN'): SetUpText {
  const text = Object.fromEntries(
    SET_UP_FIELDS.map(({ key }) => [
      key,
      editable(setUp?.[key] ?? null, isForce(key) && forceUnit === 'g' ? 1 / MN_PER_GRAM_FORCE : 1),
    ]),
  ) as Record<Key, string>;
  return { ...text, forceUnit };
}

/** The typed forces in another unit; what is no number stays as it was typed. */
export function inOtherUnit(text: SetUpText, forceUnit: ForceUnit): SetUpText {
  if (text.forceUnit === forceUnit) return text;
  const factor = forceUnit === 'g' ? 1 / MN_PER_GRAM_FORCE : MN_PER_GRAM_FORCE;
  const turned = (typed: string): string => {
    const value = parseNumber(typed);
    return value === null ? typed : editable(value, factor);
  };
  return {
    ...text,
    forceUnit,
    trackingForceMn: turned(text.trackingForceMn),
    antiSkatingMn: turned(text.antiSkatingMn),
  };
}

export function readSetUp(text: SetUpText): {
  /** null: nothing was typed. */
  readonly setUp: SetUp | null;
  readonly errors: Partial<Record<Key, string>>;
} {
  const errors: Partial<Record<Key, string>> = {};
  const read = SET_UP_FIELDS.map(({ key, least, most }): [Key, number | null] => {
    if (text[key].trim() === '') return [key, null];
    const typed = parseNumber(text[key]);
    const value =
      typed !== null && isForce(key) && text.forceUnit === 'g' ? typed * MN_PER_GRAM_FORCE : typed;
    if (value === null) errors[key] = 'Write one number, such as 17,7.';
    else if (value < least || value > most) errors[key] = 'A number like that cannot be set there.';
    return [key, value];
  });
  const setUp = Object.fromEntries(read) as SetUp;
  return { setUp: read.every(([, value]) => value === null) ? null : setUp, errors };
}

const amount = (value: number, unit: string): string => {
  const digits = String(Number(value.toPrecision(3))).replace('-', '\u2212');
  return unit === '' ? digits : unit === '°' ? `${digits}°` : `${digits}${NBSP}${unit}`;
};

/** "tracking force 17.7 mN (1.8 g), was 15 mN": each value with what it was at the set-up change before. */
export function setUpWords(setUp: SetUp, before: SetUp | null): string {
  return SET_UP_FIELDS.flatMap(({ key, label, unit }) => {
    const value = setUp[key];
    if (value === null) return [];
    const grams = isForce(key) ? ` (${amount(value / MN_PER_GRAM_FORCE, 'g')})` : '';
    const was = before?.[key] ?? null;
    const change = was === null || was === value ? '' : `, was ${amount(was, unit)}`;
    return [`${label.toLowerCase()} ${amount(value, unit)}${grams}${change}`];
  }).join('; ');
}

/** For each set-up change what each value was before it, by the entry's id. */
export function settingsBefore(entries: readonly Entry[]): ReadonlyMap<string, SetUp> {
  const found = new Map<string, SetUp>();
  let present: SetUp | null = null;
  for (const { id, setUp } of entries) {
    if (setUp === null || setUp === undefined) continue;
    if (present !== null) found.set(id, present);
    const known: Partial<SetUp> = Object.fromEntries(
      Object.entries(setUp).filter(([, value]) => value !== null),
    );
    present = { ...(present ?? setUp), ...known };
  }
  return found;
}

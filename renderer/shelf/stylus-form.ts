import { inThousands, UM_PER_MIL, type Stylus, type StylusDraft } from '../../shared/index.ts';
import { type GrooveText, grooveText, readGroove } from '../stylus/groove-fields.tsx';
import { dayError } from '../ui/day.ts';
import { editable, parseNumber, type LengthUnit } from '../format.ts';

/** The stylus form as text, and back. Every number is text until it is saved, so that half a number can stand. */
export type StylusText = {
  name: string;
  cartridge: string;
  profile: string;
  deck: string;
  radius: string;
  sideRadius: string;
  ratedHours: string;
  startDate: string;
  historyKnown: boolean;
  startHours: string;
  startGiveOrTake: string;
  minutesPerSide: string;
  groove: GrooveText;
  price: string;
  currency: string;
  limit: string;
  notes: string;
};
export type StylusErrors = Partial<Record<keyof StylusText, string>>;

export function textOf(stylus: StylusDraft | null, unit: LengthUnit): StylusText {
  const factor = unit === 'mil' ? 1 / UM_PER_MIL : 1;
  return {
    name: stylus?.name ?? '',
    cartridge: stylus?.cartridge ?? '',
    profile: stylus?.profile ?? '',
    deck: stylus?.deck ?? '',
    radius: editable(stylus?.radiusUm ?? null, factor),
    sideRadius: editable(stylus?.sideRadiusUm ?? null, factor),
    ratedHours: editable(stylus?.ratedHours ?? null),
    startDate: stylus?.startDate ?? '',
    historyKnown: stylus === null || stylus.startHours !== null,
    startHours: stylus === null ? '0' : editable(stylus.startHours),
    startGiveOrTake: editable(
      typeof stylus?.startStandardHours === 'number' ? 2 * stylus.startStandardHours : null,
    ),
    minutesPerSide: editable(stylus?.minutesPerSide ?? null),
    groove: grooveText(stylus?.groove),
    price: editable(stylus?.price ?? null),
    currency: stylus?.currency ?? '',
    limit: editable(stylus?.limitUm ?? null, factor),
    notes: stylus?.notes ?? '',
  };
}

type Range = { readonly label: string; readonly max: number; readonly zero: boolean };

function readNumber(
  text: string,
  range: Range,
): { readonly value: number | null; readonly error: string | null } {
  if (text.trim() === '') return { value: null, error: null };
  const value = parseNumber(text);
  if (value === null) return { value, error: `${range.label}: write one number, such as 18 or 0,7.` };
  if (value < 0 && range.zero) return { value, error: `${range.label} must be 0 or more.` };
  if (value <= 0 && !range.zero)
    return { value, error: `${range.label} must be more than 0, or left empty.` };
  if (value > range.max)
    return { value, error: `${range.label} is larger than ${inThousands(String(range.max))}.` };
  return { value, error: null };
}

export function readStylus(
  text: StylusText,
  unit: LengthUnit,
): { readonly draft: StylusDraft | null; readonly errors: StylusErrors } {
  const factor = unit === 'mil' ? UM_PER_MIL : 1;
  const errors: StylusErrors = {};
  const number = (key: keyof StylusText, label: string, max: number, times = 1, zero = false) => {
    const read = readNumber(text[key] as string, { label, max: Number((max / times).toPrecision(3)), zero });
    if (read.error !== null) errors[key] = read.error;
    return read.value === null ? null : read.value * times;
  };
  if (text.name.trim() === '') errors.name = 'Give the stylus a name that you will recognise.';
  const startHours = text.historyKnown ? number('startHours', 'Hours at the start', 100_000, 1, true) : null;
  if (text.historyKnown && startHours === null && errors.startHours === undefined)
    errors.startHours = 'Write the hours, 0 for a new stylus, or say that the history is unknown.';
  const giveOrTake = number('startGiveOrTake', 'Give or take', 100_000, 1, true);
  const since = text.startDate === '' ? null : dayError(text.startDate);
  if (since !== null) errors.startDate = since;
  const records = readGroove(text.groove);
  if (records.wrong !== null) errors.groove = records.wrong;
  const radiusUm = number('radius', 'Tip radius', 500, factor);
  const sideRadiusUm = number('sideRadius', 'Side radius', 500, factor);
  if (errors.radius === undefined && errors.sideRadius === undefined)
    if (radiusUm !== null && sideRadiusUm !== null && sideRadiusUm > radiusUm)
      errors.sideRadius = 'Larger than the tip radius. The side radius is the smaller one of the two.';
  const draft: StylusDraft = {
    name: text.name.trim(),
    cartridge: text.cartridge.trim(),
    profile: text.profile.trim(),
    deck: text.deck.trim(),
    radiusUm,
    sideRadiusUm,
    ratedHours: number('ratedHours', 'Rated hours', 100_000),
    startDate: text.startDate === '' ? null : text.startDate,
    startHours,
    price: number('price', 'Price', 1e7, 1, true),
    currency: text.currency.trim().slice(0, 8),
    limitUm: number('limit', 'Your limit', 200, factor),
    notes: text.notes.trim(),
    startStandardHours: startHours === null || giveOrTake === null ? null : giveOrTake / 2,
    minutesPerSide: number('minutesPerSide', 'Minutes a side', 120),
    groove: records.groove,
  };
  return { draft: Object.keys(errors).length === 0 ? draft : null, errors };
}

export function draftOf(stylus: Stylus): StylusDraft {
  const { id: _id, createdAt: _made, demo: _demo, binnedAt: _bin, retired: _end, ...draft } = stylus;
  return draft;
}

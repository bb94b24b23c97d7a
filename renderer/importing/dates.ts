import { notYet, type Dated } from '../../shared/index.ts';
import { today } from '../format.ts';

/** A date as fields. What was found keeps its origin until a hand changes it. */
export type DateText = {
  readonly day: string;
  readonly time: string;
  readonly unknown: boolean;
  readonly found: Dated | null;
};

export const dateText = (found: Dated | null): DateText => ({
  day: found?.wall.slice(0, 10) ?? '',
  time: found?.wall.slice(11, 16) ?? '',
  unknown: false,
  found,
});

/** Null taken with null error: the person said that the date is unknown. */
export function readDate(text: DateText): { readonly taken: Dated | null; readonly error: string | null } {
  if (text.unknown) return { taken: null, error: null };
  if (text.day === '')
    return { taken: null, error: 'When was it taken? Choose the day, or say that it is unknown.' };
  const early = notYet(text.day, today());
  if (early !== null) return { taken: null, error: early };
  const { found } = text;
  if (found?.wall.slice(0, 10) === text.day && found.wall.slice(11, 16) === text.time)
    return { taken: found, error: null };
  const wall = text.time === '' ? text.day : `${text.day}T${text.time}`;
  return { taken: { wall, offset: null, source: 'person' }, error: null };
}

import type { Capture, View } from '../../shared/index.ts';
import { LIGHT_SHORT, LIGHT_WORDS, VIEW_SHORT, VIEW_WORDS } from '../words.ts';

const choices = <T extends string>(words: Readonly<Record<T, string>>) =>
  (Object.keys(words) as T[]).map((value) => ({ value, label: words[value] }));
export const VIEWS = choices<View>(VIEW_WORDS);
/** For the narrow columns of a table, where the long words would be cut off. */
export const SHORT_VIEWS = VIEWS.map(({ value }) => ({
  value,
  label: VIEW_SHORT[value].charAt(0).toUpperCase() + VIEW_SHORT[value].slice(1),
}));
export const LIGHTS = choices<Capture['light']>(LIGHT_WORDS);
export const SHORT_LIGHTS = choices<Capture['light']>(LIGHT_SHORT);
export const MIRRORED = choices({ unknown: 'Not known', no: 'No', yes: 'Yes' });
export type MirroredText = (typeof MIRRORED)[number]['value'];
export const mirroredText = (mirrored: Capture['mirrored']): MirroredText =>
  mirrored === null ? 'unknown' : mirrored ? 'yes' : 'no';

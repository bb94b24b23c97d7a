import { inThousands } from '../../shared/index.ts';
import type { Answer } from './advice-rules.ts';

/** The few words that every rule is made of. */
export const PRACTICE = 'common practice in the trade';
/** Numbers here are hours, and tenths say all that is known of them; below one, two digits: an hour a month is not none. */
const figure = (value: number): string =>
  inThousands(String(Math.abs(value) < 1 ? Number(value.toPrecision(2)) : Math.round(10 * value) / 10));

/** "not-looked" and true are words for programs. */
function plainly(value: string | number | boolean): string {
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (typeof value === 'number') return figure(value);
  return /^[a-z]+(-[a-z]+)+$/.test(value) ? value.replaceAll('-', ' ') : value;
}
export const input = (name: string, value: string | number | boolean | null) => ({
  name,
  value: value === null ? 'not known' : plainly(value),
});
export const speaks = (sentence: string, ...inputs: Answer['inputs']): Answer => ({
  state: 'speaks',
  sentence,
  inputs,
});
export const silent = (sentence: string, ...inputs: Answer['inputs']): Answer => ({
  state: 'silent',
  sentence,
  inputs,
});
export const unknown = (sentence: string, ...inputs: Answer['inputs']): Answer => ({
  state: 'unknown',
  sentence,
  inputs,
});

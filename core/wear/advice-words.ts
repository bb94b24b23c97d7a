import type { Answer } from './advice-rules.ts';

/** The few words that every rule is made of. */
export const PRACTICE = 'common practice in the trade';
/** "not-looked" and true are words for programs. */
function plainly(value: string | number | boolean): string {
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  return typeof value === 'string' && /^[a-z]+(-[a-z]+)+$/.test(value)
    ? value.replaceAll('-', ' ')
    : String(value);
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

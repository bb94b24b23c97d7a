import type { Answer } from './advice-rules.ts';

/** The few words that every rule is made of. */
export const PRACTICE = 'common practice in the trade';
export const input = (name: string, value: string | number | boolean | null) => ({
  name,
  value: value === null ? 'not known' : String(value),
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

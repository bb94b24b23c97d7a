import type { ResidueFate } from '../../shared/index.ts';

export const FATE_WORDS: Readonly<Record<ResidueFate, string>> = {
  gone: 'Residue gone',
  stays: 'Residue stays after cleaning',
  new: 'Something new after cleaning',
  none: 'No residue before or after',
  'cannot-tell': 'Cannot tell',
};

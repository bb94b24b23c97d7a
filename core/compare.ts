import type { CompareFunction } from './index.ts';
import { refuse } from '../shared/index.ts';

/** Not measured yet: refuses honestly until the measuring part lands. */
export const comparePair: CompareFunction = async () =>
  refuse('failed', 'This measurement is not built yet.');

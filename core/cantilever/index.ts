import type { CantileverFunction } from '../index.ts';
import { refuse } from '../../shared/index.ts';

/** Not measured yet: refuses honestly until the measuring part lands. */
export const measureCantilever: CantileverFunction = async () =>
  refuse('failed', 'This measurement is not built yet.');

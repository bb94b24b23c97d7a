import type { ExamineFunction } from './index.ts';
import { refuse } from '../shared/index.ts';

/** Not measured yet: refuses honestly until the measuring part lands. */
export const examineCapture: ExamineFunction = async () =>
  refuse('failed', 'This measurement is not built yet.');

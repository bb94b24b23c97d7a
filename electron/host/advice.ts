import { adviseOn } from '../../core/wear/index.ts';
import type { GivenAdvice } from '../../shared/index.ts';
import { evidenceOn } from './evidence.ts';
import type { Database } from './store/database.ts';

/** Advice from what is stored, today; never stored itself, so that it cannot outlive its rules. */
export const adviceOn = (
  db: Database,
  stylusId: string,
  hoursBand?: readonly [number, number],
): GivenAdvice => {
  const advice = adviseOn(evidenceOn(db, stylusId, hoursBand));
  return {
    ...advice,
    steps: advice.steps.map((step) => ({ ...step, inputs: [...step.inputs] })),
    unknown: [...advice.unknown],
    ruleOutFirst: [...advice.ruleOutFirst],
  };
};

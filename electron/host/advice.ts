import { adviseOn } from '../../core/wear/index.ts';
import type { GivenAdvice } from '../../shared/index.ts';
import { evidenceOn } from './evidence.ts';
import type { Database } from './store/database.ts';
import { todayHere } from './store/hours.ts';
import { remembered } from './store/memo.ts';

/**
 * Advice from what is stored, today; never stored itself, so that it cannot outlive its rules. Remembered until
 * something is written: the window asks anew at every change of screen.
 */
export const adviceOn = (
  db: Database,
  stylusId: string,
  hoursBand?: readonly [number, number],
): GivenAdvice => {
  const today = todayHere();
  return remembered(db, `advice ${stylusId} ${today} ${JSON.stringify(hoursBand ?? null)}`, () => {
    const advice = adviseOn(evidenceOn(db, stylusId, hoursBand, today));
    return {
      ...advice,
      steps: advice.steps.map((step) => ({ ...step, inputs: [...step.inputs] })),
      unknown: [...advice.unknown],
      ruleOutFirst: [...advice.ruleOutFirst],
    };
  });
};

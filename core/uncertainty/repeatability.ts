import type { BudgetLine } from '../../shared/index.ts';
import { coverageFactor } from './distributions.ts';

/** Fewer repeats say too little about the spread: t(95.45 %, 4) is 2.87 already. */
export const LEAST_REPEATS = 5;

export type Repeatability = {
  readonly count: number;
  readonly mean: number;
  /** Experimental standard deviation of ONE reading: this is what a later single reading carries. */
  readonly single: number;
  /** Standard uncertainty of the mean of this study, s/sqrt(n). Only for the mean itself. */
  readonly ofMean: number;
  readonly degreesOfFreedom: number;
  /** Coverage factor t(95.45 %, n - 1). */
  readonly coverageFactor: number;
};

/**
 * Type A evaluation (JCGM 100:2008, 4.2) of the same stylus put under the microscope again and again. Throws when
 * fewer than five readings are given: the caller asks the person for more.
 */
export function repeatabilityStudy(readings: readonly number[]): Repeatability {
  const n = readings.length;
  if (n < LEAST_REPEATS)
    throw new RangeError(`repeatabilityStudy: at least ${LEAST_REPEATS} readings were expected, got ${n}`);
  if (!readings.every(Number.isFinite)) throw new RangeError('repeatabilityStudy: a reading is not a number');
  const mean = readings.reduce((a, b) => a + b, 0) / n;
  const single = Math.sqrt(readings.reduce((sum, r) => sum + (r - mean) ** 2, 0) / (n - 1));
  return {
    count: n,
    mean,
    single,
    ofMean: single / Math.sqrt(n),
    degreesOfFreedom: n - 1,
    coverageFactor: coverageFactor(n - 1),
  };
}

/** Studies of several styluses or days pooled: one s with more degrees of freedom. Their spreads must be alike. */
export function poolRepeatability(
  studies: readonly { readonly single: number; readonly degreesOfFreedom: number }[],
): { readonly single: number; readonly degreesOfFreedom: number } {
  const dof = studies.reduce((sum, study) => sum + study.degreesOfFreedom, 0);
  if (!(dof > 0)) throw new RangeError('poolRepeatability: at least one study was expected');
  const squares = studies.reduce((sum, study) => sum + study.single ** 2 * study.degreesOfFreedom, 0);
  return { single: Math.sqrt(squares / dof), degreesOfFreedom: dof };
}

/** The budget line of a single reading. A change is a difference of two readings: sqrt(2) s. */
export function repeatabilityLine(
  study: { readonly single: number; readonly degreesOfFreedom: number },
  of: 'reading' | 'change',
): BudgetLine {
  return {
    source: 'repeatability',
    standard: of === 'change' ? Math.SQRT2 * study.single : study.single,
    type: 'A',
    degreesOfFreedom: study.degreesOfFreedom,
    note:
      of === 'change'
        ? 'spread of two single readings taken by the same person'
        : 'spread of single readings taken by the same person',
  };
}

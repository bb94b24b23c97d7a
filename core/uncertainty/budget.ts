import type { BudgetLine, Measured } from '../../shared/index.ts';
import { COVERAGE_PROBABILITY, coverageFactor } from './distributions.ts';

/** Name of the line that the fit itself answers for; a study's scatter holds it already (see repeatability-in-report). */
export const FIT_SOURCE = 'fit noise and model misfit';
export const POSE_SOURCE = 'pose within 2 degrees';

/** What a budget adds up to. `standard` and `expanded` in the unit of the value. */
export type Combined = {
  readonly standard: number;
  /** Effective degrees of freedom (Welch-Satterthwaite); Infinity when no line has finite ones. */
  readonly degreesOfFreedom: number;
  readonly coverageFactor: number;
  readonly expanded: number;
};

/**
 * Welch-Satterthwaite (JCGM 100:2008, G.4.1): u^4 / sum(u_i^4 / nu_i). null or Infinity means "known well". Lines must
 * be uncorrelated; correlated ones are to be merged before.
 */
export function welchSatterthwaite(
  lines: readonly { readonly standard: number; readonly degreesOfFreedom: number | null }[],
): number {
  const total = lines.reduce((sum, line) => sum + line.standard ** 2, 0);
  const denominator = lines.reduce(
    (sum, line) => sum + line.standard ** 4 / (line.degreesOfFreedom ?? Infinity),
    0,
  );
  return denominator > 0 ? total ** 2 / denominator : Infinity;
}

/**
 * Adds uncorrelated lines in quadrature; k = t(95.45 %, effective dof). The dof need not be whole: JCGM 100 G.4.1 lets one
 * interpolate, and a cut would make k jump.
 */
export function combineBudget(
  lines: readonly BudgetLine[],
  probability: number = COVERAGE_PROBABILITY,
): Combined {
  for (const line of lines)
    if (!(line.standard >= 0))
      throw new RangeError(
        `combineBudget: "${line.source}" needs a standard uncertainty >= 0, got ${line.standard}`,
      );
  const standard = Math.sqrt(lines.reduce((sum, line) => sum + line.standard ** 2, 0));
  const degreesOfFreedom = welchSatterthwaite(lines);
  const k = coverageFactor(degreesOfFreedom, probability);
  return { standard, degreesOfFreedom, coverageFactor: k, expanded: k * standard };
}

/** A value with what its budget adds up to, ready for a report. */
export function measuredFrom(value: number, lines: readonly BudgetLine[]): Measured {
  return { value, expanded: combineBudget(lines).expanded };
}

/**
 * The interval of a value whose budget grew from `before` to `after`, also a lopsided one: what each end had is carried to
 * the new coverage factor, what came in is added in quadrature. `floor`: what the value cannot fall below.
 */
export function widened(
  measured: Measured,
  before: readonly BudgetLine[],
  after: readonly BudgetLine[],
  floor = -Infinity,
): Measured {
  const [was, is] = [combineBudget(before), combineBudget(after)];
  const added = is.coverageFactor * Math.sqrt(Math.max(0, is.standard ** 2 - was.standard ** 2));
  const grown = (half: number): number => Math.hypot((half * is.coverageFactor) / was.coverageFactor, added);
  const { value, expanded, low, high } = measured;
  if (low === undefined && high === undefined) return { value, expanded: grown(expanded) };
  const down = grown(value - (low ?? value - expanded));
  const up = grown((high ?? value + expanded) - value);
  const least = Math.max(Math.min(floor, value), value - down);
  return { value, expanded: Math.max(value - least, up), low: least, high: value + up };
}

/** Standard uncertainty of a quantity known only to lie within +-half (rectangular, JCGM 100 4.3.7). */
export function fromHalfWidth(half: number): number {
  return Math.abs(half) / Math.sqrt(3);
}

/** u of a sum with sensitivities and a covariance matrix (row-major, n x n): sqrt(c' V c). */
export function propagate(sensitivities: readonly number[], covariance: ArrayLike<number>): number {
  const n = sensitivities.length;
  if (covariance.length !== n * n)
    throw new RangeError(
      `propagate: a covariance of ${n * n} numbers was expected, got ${covariance.length}`,
    );
  let sum = 0;
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) sum += sensitivities[i] * covariance[i * n + j] * sensitivities[j];
  return Math.sqrt(Math.max(0, sum));
}

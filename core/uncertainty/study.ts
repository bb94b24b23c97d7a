import type { ExaminationReport, GivenRepeatability, Scatter } from '../../shared/index.ts';
import { FIT_SOURCE } from './budget.ts';
import { fQuantile } from './distributions.ts';
import { poolRepeatability, repeatabilityStudy } from './repeatability.ts';

/**
 * A person's own repeatability study: one stylus, taken out and put back, examined each time. What scatters is pose,
 * focus, light and the fit's own noise; what is common to all placings (the scale, a habit of the hand) does not show.
 */

/** One capture of a study as read; um. `fit`: what the fit stated for its own noise, one standard deviation. */
export type StudyReading = {
  readonly left: WallReading;
  readonly right: WallReading;
  readonly radius: { readonly value: number; readonly fit: number };
};
type WallReading = { readonly value: number; readonly fit: number; readonly detected: boolean };

export type Spread = {
  readonly count: number;
  readonly mean: number;
  /** s of one reading. */
  readonly single: number;
  readonly degreesOfFreedom: number;
  /** Root mean square of the fits' own standard uncertainties. */
  readonly fit: number;
};

export type StudyResult = {
  readonly count: number;
  /** null = not every picture shows a flat on this wall. */
  readonly left: Spread | null;
  readonly right: Spread | null;
  readonly radius: Spread;
};

/** Null: the picture was refused, shows no outline, or counts in no micrometres. */
export function readingOf(report: ExaminationReport): StudyReading | null {
  if (!report.ok || report.flats === undefined || report.tip === undefined) return null;
  if (report.unit === 'percent-of-shank') return null;
  const fitOf = (lines: readonly { source: string; standard: number }[] | undefined): number =>
    Math.hypot(...(lines ?? []).filter((line) => line.source === FIT_SOURCE).map((line) => line.standard));
  const wall = ({ widthUm, budget, detected }: (typeof report.flats)['left']): WallReading => ({
    value: widthUm.value,
    fit: fitOf(budget),
    detected,
  });
  return {
    left: wall(report.flats.left),
    right: wall(report.flats.right),
    radius: { value: report.tip.radiusUm.value, fit: fitOf(report.tip.budget) },
  };
}

/**
 * Two-sided test of equal variances at 5 % (F test; NIST Dataplot reference manual, "F TEST"; readings taken as normal).
 * With several pairs tested at once the level is divided by their number (Bonferroni).
 */
export const UNLIKE_LEVEL = 0.05;
export function varianceRatio(
  a: { readonly single: number; readonly degreesOfFreedom: number },
  b: { readonly single: number; readonly degreesOfFreedom: number },
  pairs = 1,
): { readonly ratio: number; readonly limit: number; readonly alike: boolean } {
  const [large, small] = a.single >= b.single ? [a, b] : [b, a];
  const ratio = large.single === 0 ? 1 : (large.single / small.single) ** 2;
  const limit = fQuantile(1 - UNLIKE_LEVEL / (2 * pairs), large.degreesOfFreedom, small.degreesOfFreedom);
  return { ratio, limit, alike: ratio <= limit };
}

/**
 * What the readings say, wall by wall. Throws below five readings. A wall counts only where every picture shows its flat:
 * near zero a width goes with the cube root of what is seen, and its scatter there says nothing about a flat.
 */
export function evaluateStudy(readings: readonly StudyReading[]): StudyResult {
  const spread = (values: readonly { value: number; fit: number }[]): Spread => {
    const { count, mean, single, degreesOfFreedom } = repeatabilityStudy(values.map((one) => one.value));
    const fit = Math.sqrt(values.reduce((sum, one) => sum + one.fit ** 2, 0) / count);
    return { count, mean, single, degreesOfFreedom, fit };
  };
  const wall = (side: 'left' | 'right'): Spread | null => {
    const values = readings.map((one) => one[side]);
    return values.every((one) => one.detected) ? spread(values) : null;
  };
  return {
    count: readings.length,
    left: wall('left'),
    right: wall('right'),
    radius: spread(readings.map((one) => one.radius)),
  };
}

type Test = { readonly ratio: number; readonly limit: number };
export type Pooled = {
  /** The largest variance ratio of two studies, and what it may be by chance; null for one study. */
  readonly test: Test | null;
} & (
  | { readonly alike: true; readonly given: GivenRepeatability }
  /** `no-flat`: none of them read a flat on any wall. */
  | { readonly alike: false; readonly why: 'unlike' | 'no-flat' }
);

/**
 * Several studies as one, their variances weighted by the degrees of freedom; refused where two of them differ beyond
 * chance on a wall or in the radius. A wall that no study could read takes the other wall's scatter.
 */
export function poolStudies(studies: readonly StudyResult[]): Pooled {
  const of = (which: 'left' | 'right' | 'radius'): Spread[] => studies.flatMap((study) => study[which] ?? []);
  const all = [of('left'), of('right'), of('radius')];
  const pairs = all.reduce((sum, { length }) => sum + (length * (length - 1)) / 2, 0);
  let test: Test | null = null;
  let alike = true;
  for (const spreads of all)
    for (let i = 0; i < spreads.length; i++)
      for (let k = 0; k < i; k++) {
        const found = varianceRatio(spreads[i], spreads[k], pairs);
        alike &&= found.alike;
        if (test === null || found.ratio / found.limit > test.ratio / test.limit)
          test = { ratio: found.ratio, limit: found.limit };
      }
  const [left, right, radius] = all.map(scatterOf);
  const wall = left ?? right;
  if (wall === null) return { alike: false, why: 'no-flat', test };
  if (!alike) return { alike: false, why: 'unlike', test };
  return { alike: true, given: { left: left ?? wall, right: right ?? wall, radius }, test };
}

function scatterOf(spreads: readonly Spread[]): Scatter | null {
  if (spreads.length === 0) return null;
  const { single, degreesOfFreedom } = poolRepeatability(spreads);
  const fit = poolRepeatability(spreads.map((one) => ({ ...one, single: one.fit })));
  return { standardUm: single, fitUm: fit.single, degreesOfFreedom };
}

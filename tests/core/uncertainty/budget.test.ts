import { describe, expect, it } from 'vitest';
import type { BudgetLine } from '../../../shared/index.ts';
import {
  combineBudget,
  coverageFactor,
  decisionThreshold,
  detectionLimit,
  fromHalfWidth,
  measuredFrom,
  poolRepeatability,
  propagate,
  repeatabilityLine,
  repeatabilityStudy,
  welchSatterthwaite,
} from '../../../core/uncertainty/index.ts';

const line = (standard: number, degreesOfFreedom: number | null = null): BudgetLine => ({
  source: 'x',
  standard,
  type: 'B',
  degreesOfFreedom,
});

describe('budget', () => {
  it('adds in quadrature and uses k = 2 when everything is known well', () => {
    const sum = combineBudget([line(3), line(4)]);
    expect(sum.standard).toBeCloseTo(5, 12);
    expect(sum.degreesOfFreedom).toBe(Infinity);
    expect(sum.coverageFactor).toBeCloseTo(2, 9);
    expect(sum.expanded).toBeCloseTo(10, 8);
  });

  it('follows JCGM 100:2008 G.4.2: relative 0.25, 0.57, 0.82 % with 9, 4, 14 give 19 and k(95 %) 2.09', () => {
    const lines = [line(0.25, 9), line(0.57, 4), line(0.82, 14)];
    expect(welchSatterthwaite(lines)).toBeCloseTo(19.0, 0);
    const sum = combineBudget(lines, 0.95);
    expect(sum.standard).toBeCloseTo(1.03, 2);
    expect(sum.coverageFactor).toBeCloseTo(2.093, 2);
  });

  it('widens for few repeats', () => {
    expect(measuredFrom(7, [line(1, 4)])).toEqual({ value: 7, expanded: coverageFactor(4) });
    expect(coverageFactor(4)).toBeCloseTo(2.87, 2);
  });

  it('does not accept a negative line', () => {
    expect(() => combineBudget([line(-1)])).toThrow(/standard uncertainty/);
  });

  it('propagates a covariance: full correlation cancels in a difference', () => {
    expect(propagate([1, -1], [4, 4, 4, 4])).toBe(0);
    expect(propagate([1, 1], [4, 0, 0, 9])).toBeCloseTo(Math.sqrt(13), 12);
    expect(fromHalfWidth(3)).toBeCloseTo(Math.sqrt(3), 12);
  });
});

describe('repeatability study', () => {
  // Made for this test: mean 8.0, deviations -0.4 -0.2 0 0.2 0.4, s^2 = 0.4/4.
  const study = repeatabilityStudy([7.6, 7.8, 8.0, 8.2, 8.4]);

  it('lets a single reading carry s and only the mean s/sqrt(n)', () => {
    expect(study.mean).toBeCloseTo(8, 12);
    expect(study.single).toBeCloseTo(Math.sqrt(0.1), 12);
    expect(study.ofMean).toBeCloseTo(Math.sqrt(0.02), 12);
    expect(study.degreesOfFreedom).toBe(4);
    expect(repeatabilityLine(study, 'reading').standard).toBe(study.single);
    expect(repeatabilityLine(study, 'change').standard).toBeCloseTo(Math.sqrt(0.2), 12);
  });

  it('asks for five', () => {
    expect(() => repeatabilityStudy([1, 2, 3, 4])).toThrow(/at least 5/);
  });

  it('pools two studies by their degrees of freedom', () => {
    const pooled = poolRepeatability([study, { single: 0.2, degreesOfFreedom: 8 }]);
    expect(pooled.degreesOfFreedom).toBe(12);
    expect(pooled.single).toBeCloseTo(Math.sqrt((0.1 * 4 + 0.04 * 8) / 12), 12);
  });
});

describe('detection', () => {
  it('is 3.3 u0, and 3.3 u0 + 1.645 u at the limit', () => {
    expect(decisionThreshold(0.1)).toBeCloseTo(0.33, 12);
    expect(detectionLimit(0.33, () => 0.1)).toBeCloseTo(0.4945, 9);
    // u grows with depth: d = 0.33 + 1.645 (0.1 + 0.1 d) -> d = 0.4945 / 0.8355
    expect(detectionLimit(0.33, (d) => 0.1 + 0.1 * d)).toBeCloseTo(0.4945 / 0.8355, 7);
    expect(detectionLimit(0.33, (d) => d, 100)).toBe(Infinity);
  });
});

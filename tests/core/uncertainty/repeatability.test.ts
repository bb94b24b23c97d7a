import { describe, expect, it } from 'vitest';
import {
  combineBudget,
  comparisonWithRepeatability,
  coverageFactor,
  evaluateStudy,
  examinationWithRepeatability,
  fCdf,
  FIT_SOURCE,
  fQuantile,
  measuredFrom,
  poolStudies,
  POSE_SOURCE,
  readingOf,
  type StudyReading,
} from '../../../core/uncertainty/index.ts';
import { POSE_RELATIVE } from '../../../core/tip/walls.ts';
import { withSiblingSpread } from '../../../core/wear/index.ts';
import {
  examinationAnswerSchema,
  type BudgetLine,
  type ComparisonAnswer,
  type ExaminationAnswer,
  type FlatPair,
  type FlatSingle,
  type GivenRepeatability,
  type Scatter,
} from '../../../shared/index.ts';
import { answered, flatPair, measured } from '../../renderer/reports.ts';
import { gaussians, uniforms } from '../fit/gaussians.ts';

const type = (source: string, standard: number, kind: 'A' | 'B' = 'B'): BudgetLine => ({
  source,
  standard,
  type: kind,
  degreesOfFreedom: null,
});
const RADIUS = 18;

/** A report as the engine makes it for a flat of `width` on both walls, with a fit noise of `fit`. */
function examined(left: number, right: number, fit: number, detected = true): ExaminationAnswer {
  const flat = (width: number): FlatSingle => {
    const budget = [
      type(FIT_SOURCE, fit, 'A'),
      type('scale', 0.003 * width),
      type(POSE_SOURCE, POSE_RELATIVE * width),
    ];
    return {
      widthUm: measuredFrom(width, budget),
      decisionThresholdUm: 4,
      detectionLimitUm: 5,
      detected,
      budget,
    };
  };
  const tipBudget = [type(FIT_SOURCE, 0.1, 'A'), type('scale', 0.003 * RADIUS)];
  return examinationAnswerSchema.parse({
    ok: true,
    reportVersion: 1,
    engineVersion: 'x',
    unit: 'um',
    sharpness: { edgeUm: 4 },
    tip: { radiusUm: measuredFrom(RADIUS, tipBudget), arcDeg: 80, budget: tipBudget },
    flats: { left: flat(left), right: flat(right) },
    suspicions: [],
    warnings: [],
    timingMs: 0,
  });
}
const readings = (widths: readonly (readonly [number, number])[], fit = 0.1): StudyReading[] =>
  widths.map(([left, right]) => readingOf(examined(left, right, fit))!);
const s = (values: readonly number[]): number => {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1));
};

describe('the variance ratio', () => {
  it('has the upper 2.5 % points of the usual tables (F(4,4) 9.60, F(5,4) 9.36, F(4,10) 4.47, F(10,10) 3.72)', () => {
    // Printed in every table of critical values of F for alpha = 0.025; compared with one found on the web.
    for (const [a, b, value] of [
      [4, 4, 9.6],
      [5, 4, 9.36],
      [4, 10, 4.47],
      [10, 10, 3.72],
      [1, 5, 10.01],
    ]) {
      expect(fQuantile(0.975, a, b)).toBeCloseTo(value, 1);
      expect(fCdf(fQuantile(0.975, a, b), a, b)).toBeCloseTo(0.975, 9);
    }
    expect(fCdf(0, 3, 3)).toBe(0);
    expect(fCdf(1, 7, 7)).toBeCloseTo(0.5, 12);
  });
});

describe('a study', () => {
  const five = [
    [8.0, 10.2],
    [8.4, 9.9],
    [7.7, 10.4],
    [8.1, 10.1],
    [7.9, 9.8],
  ] as const;

  it('gives s of one reading with n - 1 degrees of freedom, for each wall and the radius', () => {
    const study = evaluateStudy(readings(five));
    for (const [side, at] of [
      ['left', 0],
      ['right', 1],
    ] as const) {
      expect(study[side]?.single).toBeCloseTo(s(five.map((pair) => pair[at])), 12);
      expect(study[side]).toMatchObject({ degreesOfFreedom: 4, count: 5 });
      expect(study[side]?.fit).toBeCloseTo(0.1, 12);
    }
    expect(study.radius.fit).toBeCloseTo(0.1, 12);
  });

  it('asks for five, and reads no width where a wall shows no flat every time', () => {
    expect(() => evaluateStudy(readings(five.slice(1)))).toThrow(/at least 5/);
    const unworn = evaluateStudy(five.map(([l, r]) => readingOf(examined(l / 4, r / 4, 0.1, false))!));
    expect([unworn.left, unworn.right]).toEqual([null, null]);
    expect(poolStudies([unworn])).toMatchObject({ alike: false, why: 'no-flat' });
    const oneSided = evaluateStudy(
      readings(five).map((one) => ({ ...one, left: { ...one.left, detected: false } })),
    );
    const borrowed = poolStudies([oneSided]);
    if (!borrowed.alike) throw new Error('one wall is enough');
    expect(borrowed.given.left).toEqual(borrowed.given.right);
  });

  it('is pooled with another by degrees of freedom when their spreads are alike, else not', () => {
    const first = evaluateStudy(readings(five));
    const second = evaluateStudy(readings([...five, [8.2, 10.0], [7.8, 10.3]]));
    const pooled = poolStudies([first, second]);
    if (!pooled.alike) throw new Error('alike studies were not pooled');
    expect(pooled.given.left.degreesOfFreedom).toBe(10);
    const [a, b] = [first.left!.single, second.left!.single];
    expect(pooled.given.left.standardUm).toBeCloseTo(Math.sqrt((4 * a * a + 6 * b * b) / 10), 12);
    expect(pooled.test!.ratio).toBeLessThan(pooled.test!.limit);
    const shaky = evaluateStudy(readings(five.map(([l, r], i) => [l + 2 * (i - 2), r + 2 * (2 - i)])));
    const apart = poolStudies([first, shaky]);
    expect(apart.alike).toBe(false);
    expect(apart.test!.ratio).toBeGreaterThan(apart.test!.limit);
  });
});

const given = (standardUm: number, more: Partial<Scatter> = {}): GivenRepeatability => {
  const wall = { standardUm, fitUm: 0.1, degreesOfFreedom: 4, ...more };
  return { left: wall, right: wall, radius: { standardUm: 0.2, fitUm: 0.1, degreesOfFreedom: 4 } };
};
const standards = (lines: readonly BudgetLine[] | undefined): Record<string, number> =>
  Object.fromEntries((lines ?? []).map((line) => [line.source, line.standard]));

describe('a study in a report on one picture', () => {
  it('is a line with its degrees of freedom; the fit keeps what goes beyond, and U follows the budget', () => {
    const before = examined(9, 8, 0.1);
    const after = examinationWithRepeatability(before, given(0.4));
    for (const side of ['left', 'right'] as const) {
      const { budget, widthUm } = after.flats![side];
      expect(standards(budget)[FIT_SOURCE]).toBeCloseTo(0, 12);
      expect(budget!.find((line) => line.source === 'repeatability')).toMatchObject({
        standard: 0.4,
        type: 'A',
        degreesOfFreedom: 4,
      });
      const sum = combineBudget(budget!);
      expect(widthUm.expanded).toBeCloseTo(sum.expanded, 9);
      expect(sum.coverageFactor).toBeGreaterThan(2.3);
      expect(sum.coverageFactor).toBeLessThan(coverageFactor(4));
      expect(widthUm.value).toBe(before.flats![side].widthUm.value);
    }
    expect(after.tip!.radiusUm.expanded).toBeCloseTo(combineBudget(after.tip!.budget!).expanded, 9);
    expect(after.repeatability).toEqual(given(0.4));
  });

  it('is never below s nor below the fit, whichever is larger, and a softer picture counts as softer', () => {
    for (const fit of [0.02, 0.1, 0.3, 0.9])
      for (const single of [0, 0.05, 0.1, 0.4, 1.5]) {
        const lines = examinationWithRepeatability(examined(9, 9, fit), given(single)).flats!.left.budget!;
        const { [FIT_SOURCE]: rest, repeatability } = standards(lines);
        const u = Math.hypot(rest, repeatability);
        expect(u).toBeGreaterThanOrEqual(Math.max(fit, single) - 1e-12);
        // Study pictures with a fit noise of 0.1: of it at most that much is inside s.
        expect(u ** 2).toBeCloseTo(single ** 2 + Math.max(0, fit ** 2 - Math.min(single, 0.1, fit) ** 2), 12);
      }
    // Nothing known of the study's fits (command line): the larger of the two.
    const larger = given(0.4, { fitUm: null });
    for (const fit of [0.1, 0.9]) {
      const lines = examinationWithRepeatability(examined(9, 9, fit), larger).flats!.left.budget!;
      const { [FIT_SOURCE]: rest, repeatability } = standards(lines);
      expect(Math.hypot(rest, repeatability)).toBeCloseTo(Math.max(0.4, fit), 12);
    }
  });

  it('raises threshold and limit by what goes beyond the fits, and end-on pictures stay as they are', () => {
    const before = examined(9, 8, 0.1).flats!.left;
    const after = examinationWithRepeatability(examined(9, 8, 0.1), given(0.4)).flats!.left;
    expect(after.decisionThresholdUm).toBeGreaterThan(before.decisionThresholdUm);
    expect(after.detectionLimitUm).toBeGreaterThan(after.decisionThresholdUm);
    const still = examinationWithRepeatability(examined(9, 8, 0.1), given(0.1)).flats!.left;
    expect(still.decisionThresholdUm).toBe(before.decisionThresholdUm);
    const { flats: _flats, ...endOn } = examined(9, 8, 0.1);
    expect(examinationWithRepeatability(endOn, given(0.4))).toBe(endOn);
  });
});

describe('a study in a comparison', () => {
  const lines = [type(FIT_SOURCE, 0.1, 'A'), type('scale', 0.03)];
  const flat = (value: number) =>
    flatPair(measuredFrom(value, lines), { budget: lines, baselineBudget: lines, changeBudget: lines });
  const plain = answered(flat(9), flat(8));

  it('counts for each picture, sqrt(2) s for a change with one study, and each with its own for two', () => {
    const one = comparisonWithRepeatability(plain, given(0.4), given(0.4));
    const change = one.flats.left.changeBudget!.find((line) => line.source === 'repeatability')!;
    expect(change.standard).toBeCloseTo(Math.SQRT2 * 0.4, 12);
    expect(change.degreesOfFreedom).toBe(4);
    const two = comparisonWithRepeatability(plain, given(0.3), given(0.4, { degreesOfFreedom: 9 }));
    const both = two.flats.left.changeBudget!.filter((line) => line.source === 'repeatability');
    expect(both.map((line) => [line.standard, line.degreesOfFreedom])).toEqual([
      [0.3, 4],
      [0.4, 9],
    ]);
    const { degreesOfFreedom } = combineBudget(both);
    expect(degreesOfFreedom).toBeCloseTo(0.5 ** 4 / (0.3 ** 4 / 4 + 0.4 ** 4 / 9), 9);
    expect(standards(two.flats.left.baselineBudget)['repeatability']).toBe(0.3);
    expect(standards(two.flats.left.budget)['repeatability']).toBe(0.4);
    const later = comparisonWithRepeatability(plain, null, given(0.4));
    expect(later.flats.left.baselineUm).toEqual(plain.flats.left.baselineUm);
    expect(standards(later.flats.left.changeBudget)['repeatability']).toBe(0.4);
    expect(comparisonWithRepeatability(plain, null, null)).toBe(plain);
  });

  it('reaches area and depth through the widths, and is not counted where there are no micrometres', () => {
    const after = comparisonWithRepeatability(plain, null, given(0.4));
    // dA = w^2/4R dw on both walls of one placing: (81 + 64)/(4 * 17.71) * 0.4.
    const standard = ((81 + 64) / (4 * plain.tip.radiusUm.value)) * 0.4;
    const own = plain.contour.areaLostUm2.expanded / 2;
    const k = after.contour.areaLostUm2.expanded / Math.hypot(own, standard);
    expect(k).toBeGreaterThan(2);
    expect(k).toBeLessThan(coverageFactor(4) * 1.1);
    const percent = comparisonWithRepeatability({ ...plain, unit: 'percent-of-shank' }, null, given(0.4));
    expect(percent.flats).toBe(plain.flats);
    expect(percent.warnings.at(-1)?.code).toBe('repeatability-not-counted');
  });

  it('stands beside a sibling’s spread, line by line', () => {
    const { flats, tip } = withSiblingSpread(comparisonWithRepeatability(plain, given(0.4), given(0.4)));
    for (const budget of [flats.left.budget, flats.left.changeBudget])
      expect(budget!.map((line) => line.source)).toEqual([
        FIT_SOURCE,
        'scale',
        'repeatability',
        'spread between specimens',
      ]);
    expect(flats.left.changeUm.expanded).toBeCloseTo(combineBudget(flats.left.changeBudget!).expanded, 2);
    expect(tip.budget?.at(-1)?.source).toBe('spread between specimens');
    expect(measured(1, 2).expanded).toBe(2);
  });
});

describe('coverage, on simulated persons', () => {
  /**
   * Each person holds the part with a habit and a scatter of their own, together within 2 degrees; a turned flat of width w
   * looks 0.99 R sin|a| narrower (from l = 0.7 w, as in core/tip/walls). Focus and light scatter by their own amount, the
   * fit by what it states. Every person makes a study of one stylus and later takes single readings of others.
   */
  const normal = gaussians(4);
  const uniform = uniforms(8);
  const between = (low: number, high: number): number => low + (high - low) * uniform();
  const DEGREE = Math.PI / 180;
  function person() {
    const scatter = between(0.2, 2);
    const habit = between(-(2 - scatter), 2 - scatter);
    const light = between(0.05, 0.6);
    const fit = between(0.08, 0.4);
    const take = (width: number): ExaminationAnswer => {
      const turn = (habit + between(-scatter, scatter)) * DEGREE;
      const seen = (): number =>
        width - 0.99 * RADIUS * Math.sin(Math.abs(turn)) + light * normal() + fit * normal();
      return examined(seen(), seen(), fit);
    };
    return { take };
  }
  /** A pair of separate single readings, as a comparison states it. */
  function compared(before: ExaminationAnswer, now: ExaminationAnswer): ComparisonAnswer {
    const flat = (side: 'left' | 'right'): FlatPair => {
      const [b, l] = [before.flats![side], now.flats![side]];
      const of = (lines: readonly BudgetLine[], source: string): number =>
        lines.find((one) => one.source === source)?.standard ?? 0;
      const changeBudget = b.budget!.map((one, i) => ({
        ...one,
        standard: Math.hypot(one.standard, of(l.budget!, l.budget![i].source)),
      }));
      return flatPair(l.widthUm, {
        baselineUm: b.widthUm,
        changeUm: measuredFrom(l.widthUm.value - b.widthUm.value, changeBudget),
        budget: l.budget!,
        baselineBudget: b.budget!,
        changeBudget,
      });
    };
    return answered(flat('left'), flat('right'));
  }
  function coverage(
    n: number,
    people: number,
    seen: (take: (width: number) => ExaminationAnswer, given: GivenRepeatability) => boolean,
  ) {
    let inside = 0;
    for (let i = 0; i < people; i++) {
      const { take } = person();
      const study = evaluateStudy(Array.from({ length: n }, () => readingOf(take(10))!));
      const pooled = poolStudies([study]);
      if (!pooled.alike) throw new Error('a study of one was not taken');
      if (seen(take, pooled.given)) inside++;
    }
    return inside / people;
  }

  it.each([5, 8, 12])('holds the true width in 93 to 98 of 100 readings, studies of %i', (n) => {
    const share = coverage(n, 4000, (take, study) => {
      const { widthUm } = examinationWithRepeatability(take(9), study).flats!.left;
      return Math.abs(widthUm.value - 9) <= widthUm.expanded;
    });
    expect(share).toBeGreaterThan(0.93);
    expect(share).toBeLessThan(0.98);
  });

  it.each([5, 8])('holds the true change in 93 to 98 of 100 pairs, studies of %i', (n) => {
    const share = coverage(n, 4000, (take, study) => {
      const { changeUm } = comparisonWithRepeatability(compared(take(7), take(11)), study, study).flats.left;
      return Math.abs(changeUm.value - 4) <= changeUm.expanded;
    });
    expect(share).toBeGreaterThan(0.93);
    expect(share).toBeLessThan(0.98);
  });

  it('would not without a study', () => {
    const share = coverage(5, 4000, (take) => {
      const { widthUm } = take(9).flats!.left;
      return Math.abs(widthUm.value - 9) <= widthUm.expanded;
    });
    expect(share).toBeLessThan(0.93);
  });
});

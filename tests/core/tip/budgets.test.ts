import { describe, expect, it } from 'vitest';
import { comparePair, examineCapture } from '../../../core/index.ts';
import { combineBudget } from '../../../core/uncertainty/index.ts';
import { randomFrontPair } from '../../../fixtures/render/front-random.ts';
import { comparisonReportSchema, examinationReportSchema } from '../../../shared/index.ts';
import type { BudgetLine, Measured } from '../../../shared/index.ts';

const control = { progress: () => undefined, check: () => undefined, now: () => 0 };
const { baseline, later, truth } = randomFrontPair(71, {
  easy: true,
  flats: { baselineLeftUm: 0, baselineRightUm: 7, laterLeftUm: 10, laterRightUm: 9 },
});
const scaleOf = (umPerPx: number) => ({ umPerPx, standardUmPerPx: 0.001 });
const scatter = { standardUm: 0.5, fitUm: 0.1, degreesOfFreedom: 5 };
const study = { left: scatter, right: scatter, radius: { ...scatter, standardUm: 0.3 } };

/** A straight value is exactly what its lines add up to; a lopsided one is not narrower than them, nor far off. */
function follows(value: Measured, lines: readonly BudgetLine[] | undefined, name: string): void {
  expect(lines?.length, name).toBeGreaterThan(1);
  const { expanded } = combineBudget(lines!);
  const lopsided = value.low !== undefined;
  const ratio = value.expanded / expanded;
  expect(ratio, name).toBeGreaterThan(lopsided ? 0.8 : 1 - 1e-9);
  expect(ratio, name).toBeLessThan(lopsided ? 2.5 : 1 + 1e-9);
}

describe('the budget of every value', () => {
  const compare = (more: object = {}) =>
    comparePair(
      {
        view: 'front',
        baseline,
        later,
        baselineScale: scaleOf(truth.baseline.umPerPx),
        laterScale: scaleOf(truth.later.umPerPx),
        ...more,
      },
      control,
    );

  it('is in a comparison, line by line, with a study and without one', async () => {
    const studied = await compare({ baselineRepeatability: study, laterRepeatability: study });
    for (const report of [await compare(), studied].map((one) => comparisonReportSchema.parse(one))) {
      if (!report.ok) throw new Error(report.reason.message);
      const { flats, tip, contour } = report;
      for (const side of ['left', 'right'] as const) {
        follows(flats[side].laterUm, flats[side].budget, `${side} later`);
        follows(flats[side].baselineUm, flats[side].baselineBudget, `${side} baseline`);
        follows(flats[side].changeUm, flats[side].changeBudget, `${side} change`);
      }
      follows(tip.radiusUm, tip.budget, 'radius');
      for (const name of ['areaLostUm2', 'areaGainedUm2', 'largestRecessionUm', 'largestGrowthUm'] as const)
        follows(contour[name], contour.budgets?.[name], name);
    }
    if (!studied.ok) throw new Error(studied.reason.message);
    const line = studied.flats.left.changeBudget?.at(-1);
    expect(line).toMatchObject({ source: 'repeatability', type: 'A', degreesOfFreedom: 5 });
    expect(line?.standard).toBeCloseTo(Math.SQRT2 * 0.5, 12);
    expect(studied.repeatability).toEqual({ baseline: study, later: study });
  });

  it('is in an examination, and the study widens every value without moving it', async () => {
    const look = (more: object = {}) =>
      examineCapture(
        { view: 'front', picture: later, scale: scaleOf(truth.later.umPerPx), ...more },
        control,
      );
    const [plain, studied] = [await look(), await look({ repeatability: study })].map((one) =>
      examinationReportSchema.parse(one),
    );
    if (!plain.ok || !studied.ok) throw new Error('refused');
    for (const report of [plain, studied]) {
      follows(report.flats!.left.widthUm, report.flats!.left.budget, 'left');
      follows(report.flats!.right.widthUm, report.flats!.right.budget, 'right');
      follows(report.tip!.radiusUm, report.tip!.budget, 'radius');
    }
    expect(studied.flats!.left.widthUm.value).toBe(plain.flats!.left.widthUm.value);
    expect(studied.flats!.left.widthUm.expanded).toBeGreaterThan(plain.flats!.left.widthUm.expanded);
    expect(studied.tip!.radiusUm.expanded).toBeGreaterThan(plain.tip!.radiusUm.expanded);
  });

  it('counts in per cent with the rest where there is no scale, and the study is said not to count', async () => {
    const report = await compare({ baselineScale: null, laterScale: null, laterRepeatability: study });
    if (!report.ok) throw new Error(report.reason.message);
    expect(report.unit).toBe('percent-of-shank');
    follows(report.tip.radiusUm, report.tip.budget, 'radius');
    follows(report.contour.areaLostUm2, report.contour.budgets?.areaLostUm2, 'area');
    follows(report.flats.left.changeUm, report.flats.left.changeBudget, 'change');
    expect(report.warnings.map((one) => one.code)).toContain('repeatability-not-counted');
  });
});

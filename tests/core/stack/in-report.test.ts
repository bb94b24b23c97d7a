import { describe, expect, it } from 'vitest';
import { comparePair, examineCapture } from '../../../core/index.ts';
import { comparisonOfMerges, examinationOfMerge, mergeOf } from '../../../core/stack/in-report.ts';
import { randomFrontPair } from '../../../fixtures/render/front-random.ts';
import { comparisonReportSchema, examinationReportSchema } from '../../../shared/index.ts';

const control = { progress: () => undefined, check: () => undefined, now: () => 0 };
const merge = { how: 'merge' as const, planes: 4, alignmentPx: 0.15, sizeChange: 0.006 };
const pair = randomFrontPair(71, {
  easy: true,
  flats: { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 10, laterRightUm: 8 },
});
const scaleOf = (umPerPx: number) => ({ umPerPx, standardUmPerPx: 0.001 });

describe('a merge in the budget', () => {
  it('is a line of its own, widens every interval by it, and is said', async () => {
    const plain = await examineCapture(
      { view: 'front', picture: pair.later, scale: scaleOf(pair.truth.later.umPerPx) },
      control,
    );
    const said = examinationReportSchema.parse(examinationOfMerge(plain, merge));
    if (!plain.ok || !said.ok || plain.flats === undefined || said.flats === undefined) throw new Error();
    expect(said.warnings.map((one) => one.code)).toContain('merged-planes');
    const [before, after] = [plain.flats.left, said.flats.left];
    const line = after.budget?.at(-1);
    expect(line?.source).toBe('merge of focal planes');
    expect(line?.note).toContain('0.15 px');
    // From d = w^2/8R: dw = 4R/w dd; the planes' places are rectangular within +-0.15 px, sizes within +-0.3 %.
    const { radiusUm } = plain.tip!;
    const w = before.widthUm.value;
    const depth = (0.15 * pair.truth.later.umPerPx) / Math.sqrt(3);
    const expected = Math.hypot(((4 * radiusUm.value) / w) * depth, (w * 0.003) / Math.sqrt(3));
    expect(line?.standard).toBeCloseTo(expected, 2);
    expect(after.widthUm.expanded).toBeCloseTo(Math.hypot(before.widthUm.expanded, 2 * expected), 2);
    expect(after.detectionLimitUm).toBeGreaterThan(before.detectionLimitUm);
    expect(after.widthUm.value).toBe(w);
  });

  it('counts for the picture of a pair that is one, and for their change', async () => {
    const { baseline, later, truth } = pair;
    const plain = await comparePair(
      {
        view: 'front',
        baseline,
        later,
        baselineScale: scaleOf(truth.baseline.umPerPx),
        laterScale: scaleOf(truth.later.umPerPx),
      },
      control,
    );
    if (!plain.ok) throw new Error(plain.reason.message);
    const onlyLater = comparisonReportSchema.parse(comparisonOfMerges(plain, null, merge));
    const both = comparisonOfMerges(plain, merge, merge);
    if (!onlyLater.ok || !both.ok) throw new Error();
    expect(onlyLater.flats.left.baselineUm).toEqual(plain.flats.left.baselineUm);
    expect(onlyLater.flats.left.laterUm.expanded).toBeGreaterThan(plain.flats.left.laterUm.expanded);
    expect(both.flats.left.changeUm.expanded).toBeGreaterThan(onlyLater.flats.left.changeUm.expanded);
    expect(both.warnings.filter((one) => one.code === 'merged-planes')).toHaveLength(2);
    expect(comparisonOfMerges(plain, null, null)).toBe(plain);
  });

  it('says nothing about other pictures or refusals', () => {
    expect(mergeOf({ how: 'frame' })).toBeNull();
    expect(mergeOf(null)).toBeNull();
    const refused = {
      ok: false as const,
      reportVersion: 1 as const,
      engineVersion: 'x',
      reason: { code: 'too-blurred' as const, message: 'x' },
    };
    expect(examinationOfMerge(refused, merge)).toBe(refused);
  });
});

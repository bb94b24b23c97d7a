import { describe, expect, it } from 'vitest';
import { comparePair, type DecodedPicture } from '../../../core/index.ts';
import { randomFrontPair, type FrontPair } from '../../../fixtures/render/front-random.ts';
import { crowded } from '../../e2e/pictures.ts';
import { comparisonReportSchema, type ComparisonAnswer, type Pose } from '../../../shared/index.ts';

/**
 * A hand lays the later picture over the baseline, roughly; the fit goes on from there. The truth is that of the
 * rendered pair.
 */
const control = { progress: () => undefined, check: () => undefined, now: () => performance.now() };

const poseOf = (side: FrontPair['baseline']): Pose => ({
  xPx: side.truth.pose.tipXPx,
  yPx: side.truth.pose.tipYPx,
  rotationDeg: side.truth.pose.rotationDeg,
  umPerPx: side.truth.umPerPx,
});

async function byHand(
  pair: FrontPair,
  later: DecodedPicture,
  laterPoseHint: Pose | null,
  withScale = true,
): Promise<ReturnType<typeof comparisonReportSchema.parse>> {
  const scale = (umPerPx: number) => (withScale ? { umPerPx, standardUmPerPx: null } : null);
  const report = await comparePair(
    {
      view: 'front',
      baseline: pair.baseline,
      later,
      baselineScale: scale(pair.baseline.truth.umPerPx),
      laterScale: scale(pair.later.truth.umPerPx),
      ...(laterPoseHint === null ? {} : { baselinePoseHint: poseOf(pair.baseline), laterPoseHint }),
    },
    control,
  );
  return comparisonReportSchema.parse(report);
}

function answered(report: Awaited<ReturnType<typeof byHand>>): ComparisonAnswer {
  if (!report.ok) throw new Error(`${report.reason.code}: ${report.reason.message}`);
  return report;
}

/** As a hand does it: some pixels off, a degree or two turned, a per cent too large. */
const roughly = (pose: Pose): Pose => ({
  xPx: pose.xPx + 4,
  yPx: pose.yPx - 3,
  rotationDeg: pose.rotationDeg + 1.5,
  umPerPx: pose.umPerPx * 0.99,
});

describe('registration helped by hand', () => {
  const pair = randomFrontPair(21, { easy: true, laterFlatsUm: [9, 12] });

  it('comes to the same widths as the search does, and says that a hand was in it', async () => {
    const alone = answered(await byHand(pair, pair.later, null));
    const helped = answered(await byHand(pair, pair.later, roughly(poseOf(pair.later))));
    for (const side of ['left', 'right'] as const) {
      const truth = pair.later.truth.flats[side].widthUm;
      expect(Math.abs(helped.flats[side].laterUm.value - truth)).toBeLessThan(0.6);
      expect(Math.abs(helped.flats[side].laterUm.value - alone.flats[side].laterUm.value)).toBeLessThan(0.2);
    }
    expect(helped.registration.rotationDeg).toBeCloseTo(alone.registration.rotationDeg, 1);
    expect(helped.registration.byHand).toBe(true);
    expect(helped.warnings.map(({ code }) => code)).toContain('registration-by-hand');
    expect(alone.registration.byHand).toBeUndefined();
    expect(alone.warnings.map(({ code }) => code)).not.toContain('registration-by-hand');
  }, 60_000);

  it('answers where the search refuses because something dark lies beside the shank', async () => {
    const hidden = crowded(pair.later);
    const alone = await byHand(pair, hidden, null);
    expect(alone.ok).toBe(false);
    const helped = answered(await byHand(pair, hidden, roughly(poseOf(pair.later))));
    for (const side of ['left', 'right'] as const)
      expect(Math.abs(helped.flats[side].laterUm.value - pair.later.truth.flats[side].widthUm)).toBeLessThan(
        0.6,
      );
  }, 60_000);

  it('refuses a hand that lays the later picture somewhere else', async () => {
    const off = { ...poseOf(pair.later), rotationDeg: pair.later.truth.pose.rotationDeg + 180 };
    const report = await byHand(pair, pair.later, off);
    expect(report.ok).toBe(false);
  }, 60_000);

  it('takes the ratio of the scales from the hand where no scale is known, frame and picture alike', async () => {
    const report = answered(await byHand(pair, pair.later, roughly(poseOf(pair.later)), false));
    expect(report.unit).toBe('percent-of-shank');
    const shank = pair.baseline.truth.tip.shankWidthUm;
    const truth = (100 * pair.later.truth.flats.left.widthUm) / shank;
    expect(Math.abs(report.flats.left.laterUm.value - truth)).toBeLessThan(0.06 * truth + 40 / shank);
    // The drawing's frame counts in per cent, too: the tip's arc has the radius that the report states.
    const apex = Math.max(...(report.drawing?.baselineContour ?? []).map(([, y]) => y));
    expect(apex).toBeGreaterThan(0.9 * report.tip.radiusUm.value);
    expect(apex).toBeLessThan(1.1 * report.tip.radiusUm.value);
  }, 60_000);
});

describe('the limits of the baseline', () => {
  it('are stated beside those of the later picture', async () => {
    const pair = randomFrontPair(33, { easy: true, laterFlatsUm: [9, 12] });
    const { flats } = answered(await byHand(pair, pair.later, null));
    for (const side of ['left', 'right'] as const) {
      expect(flats[side].baselineDecisionThresholdUm).toBeGreaterThan(0);
      expect(flats[side].baselineDetectionLimitUm).toBeGreaterThan(
        flats[side].baselineDecisionThresholdUm ?? Infinity,
      );
    }
  }, 60_000);
});

import { describe, expect, it } from 'vitest';
import { comparePair } from '../../../core/index.ts';
import type { Offsets } from '../../../core/edge/offsets.ts';
import { fitClean } from '../../../core/tip/clean-single.ts';
import { prepareCapture } from '../../../core/tip/prepare.ts';
import {
  pictureToTip,
  renderFront,
  type FrontPicture,
  type FrontSpec,
} from '../../../fixtures/render/front.ts';
import { randomFrontSpecs } from '../../../fixtures/render/front-random.ts';
import type { ComparisonAnswer, ComparisonReport } from '../../../shared/index.ts';

/** Parts that are no silhouettes. Rendered, fixed seeds, and then given another light. */

const control = { progress: () => undefined, check: () => undefined, now: () => performance.now() };

/** Every pixel's distance from the empty field's level (of the corners) times what `share` gives for its place, px. */
function relit(picture: FrontPicture, share: (x: number, y: number) => number): FrontPicture {
  const { width, height, channels, data } = picture;
  const corners = [0, width - 9].flatMap((x) => [0, height - 9].map((y) => ({ x, y })));
  const level = corners
    .map(({ x, y }) => data[(y * width + x) * channels])
    .toSorted((a, b) => a - b)
    .slice(1, 3)
    .reduce((sum, v) => sum + v / 2, 0);
  return {
    ...picture,
    data: data.map((v, i) => {
      const pixel = Math.floor(i / channels);
      return level + (v - level) * share(pixel % width, Math.floor(pixel / width));
    }),
  };
}

const compared = (
  specs: { baseline: FrontSpec; later: FrontSpec },
  share: number,
): Promise<ComparisonReport> =>
  comparePair(
    {
      view: 'front',
      baseline: relit(renderFront(specs.baseline), () => share),
      later: relit(renderFront(specs.later), () => share),
      baselineScale: { umPerPx: specs.baseline.umPerPx, standardUmPerPx: null },
      laterScale: { umPerPx: specs.later.umPerPx, standardUmPerPx: null },
    },
    control,
  );

const answered = (report: ComparisonReport): ComparisonAnswer => {
  if (!report.ok) throw new Error(report.reason.message);
  return report;
};
const codes = ({ warnings }: ComparisonAnswer) => warnings.map(({ code }) => code);

describe('a clear part before a bright ground', () => {
  it.each([11, 12, 13])('is no silhouette, and its intervals are wider (seed %i)', async (seed) => {
    const specs = randomFrontSpecs(seed, { easy: true, largestRadiusUm: 25, laterFlatsUm: [9, 14] });
    const dark = answered(await compared(specs, 1));
    const clear = answered(await compared(specs, 0.4));
    expect(codes(dark)).not.toContain('not-backlit');
    expect(codes(clear)).toContain('not-backlit');
    for (const side of ['left', 'right'] as const)
      expect(clear.flats[side].laterUm.expanded).toBeGreaterThan(1.3 * dark.flats[side].laterUm.expanded);
  });
});

describe('the edge of a part lit from the front', () => {
  const readAt = (picture: FrontPicture, spec: FrontSpec): Offsets => {
    const prepared = prepareCapture(picture, spec.umPerPx);
    if (!prepared.ok) throw new Error(prepared.reason.message);
    return fitClean(prepared.value).offsets;
  };
  const unread = (offsets: Offsets): number =>
    offsets.delta.filter(Number.isNaN).length / offsets.delta.length;

  it.each([21, 24, 30])('is not read where it fades into the ground (seed %i)', (seed) => {
    const { baseline } = randomFrontSpecs(seed, { light: 'ring' });
    const picture = renderFront(baseline);
    const evenly = unread(readAt(picture, baseline));
    const fading = relit(picture, (x, y) => {
      const right = pictureToTip({ x, y }, baseline.pose, baseline.umPerPx).x / baseline.tip.radiusUm;
      return Math.min(1, Math.max(0.25, 0.7 + 0.4 * right));
    });
    expect(unread(readAt(fading, baseline))).toBeGreaterThan(evenly + 0.04);
  });
});

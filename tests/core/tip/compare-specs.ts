import { comparePair } from '../../../core/index.ts';
import { renderFront, type FrontPicture, type FrontSpec } from '../../../fixtures/render/front.ts';
import type { ComparisonReport } from '../../../shared/index.ts';

const control = { progress: () => undefined, check: () => undefined, now: () => performance.now() };

/** Draws both captures and compares them at their true scales. */
export async function compareSpecs(
  baseline: FrontSpec,
  later: FrontSpec,
): Promise<{ report: ComparisonReport; drawn: { baseline: FrontPicture; later: FrontPicture } }> {
  const drawn = { baseline: renderFront(baseline), later: renderFront(later) };
  const report = await comparePair(
    {
      view: 'front',
      ...drawn,
      baselineScale: { umPerPx: baseline.umPerPx, standardUmPerPx: null },
      laterScale: { umPerPx: later.umPerPx, standardUmPerPx: null },
    },
    control,
  );
  return { report, drawn };
}

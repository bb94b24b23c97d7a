import type { Capture, Comparison, StylusPage, View } from '../../shared/index.ts';

/** Views whose outlines are compared; the others are looked at side by side. */
export const hasOutline = (view: View): boolean => view === 'front' || view === 'side';

/** The baseline a capture is laid over: of the same view, and the last one where a part has several. */
export function baselineFor(page: StylusPage, capture: Capture): Capture | null {
  if (capture.isBaseline) return null;
  const candidates = page.captures.filter((other) => other.isBaseline && other.view === capture.view);
  const before = candidates.filter((other) => (other.taken?.wall ?? '') <= (capture.taken?.wall ?? '9999'));
  return before.at(-1) ?? candidates.at(-1) ?? null;
}

/** The newest comparison of a pair, answered or refused. */
export function comparisonOf(page: StylusPage, baselineId: string, laterId: string): Comparison | null {
  return (
    page.comparisons
      .filter((one) => one.baselineId === baselineId && one.laterId === laterId)
      .toSorted((a, b) => a.createdAt.localeCompare(b.createdAt))
      .at(-1) ?? null
  );
}

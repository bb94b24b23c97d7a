import type { Capture, Comparison, ComparisonAnswer, StylusPage, View } from '../../shared/index.ts';

/** Views whose outlines are compared; the others are looked at side by side. */
export const hasOutline = (view: View): boolean => view === 'front' || view === 'side';

/** The baseline a capture is laid over: of the same view, and the last one where a part has several. */
export function baselineFor(page: StylusPage, capture: Capture): Capture | null {
  if (capture.isBaseline) return null;
  const candidates = indexOf(page).baselines.filter((other) => other.view === capture.view);
  const before = candidates.filter((other) => (other.taken?.wall ?? '') <= (capture.taken?.wall ?? '9999'));
  return before.at(-1) ?? candidates.at(-1) ?? null;
}

/** The newest comparison of a pair, answered or refused. */
export function comparisonOf(page: StylusPage, baselineId: string, laterId: string): Comparison | null {
  return indexOf(page).newest.get(`${baselineId} ${laterId}`) ?? null;
}

type Index = { readonly baselines: readonly Capture[]; readonly newest: ReadonlyMap<string, Comparison> };
const indices = new WeakMap<StylusPage, Index>();

/** Made once for a page: a strip of three hundred pictures asks for each of them. */
function indexOf(page: StylusPage): Index {
  const made = indices.get(page);
  if (made !== undefined) return made;
  const newest = new Map<string, Comparison>();
  for (const one of page.comparisons) {
    const key = `${one.baselineId} ${one.laterId}`;
    const other = newest.get(key);
    // Times of one form compare as plain text; of two at the same moment the later in the list holds.
    if (other === undefined || other.createdAt <= one.createdAt) newest.set(key, one);
  }
  const index = { baselines: page.captures.filter(({ isBaseline }) => isBaseline), newest };
  indices.set(page, index);
  return index;
}

export type Before = { readonly taken: string; readonly flats: ComparisonAnswer['flats'] };

/** The newest answer of an earlier picture of the same view, counted in the same unit; null when there is none. */
export function answerBefore(page: StylusPage, capture: Capture, report: ComparisonAnswer): Before | null {
  const day = capture.taken?.wall ?? null;
  if (day === null) return null;
  let newest: Before | null = null;
  for (const { laterId, report: other } of page.comparisons) {
    const later = page.captures.find((one) => one.id === laterId);
    const taken = later?.taken?.wall ?? null;
    if (later === undefined || taken === null || later.id === capture.id || later.view !== capture.view)
      continue;
    if (!other.ok || (other.unit ?? 'um') !== (report.unit ?? 'um')) continue;
    if (taken < day && (newest === null || taken >= newest.taken)) newest = { taken, flats: other.flats };
  }
  return newest;
}

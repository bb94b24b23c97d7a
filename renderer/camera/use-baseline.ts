import { useEffect, useMemo } from 'react';
import type { Capture, StylusPage, View } from '../../shared/index.ts';
import { loadPicture } from '../state/pictures.ts';
import { useModel } from '../state/use.ts';
import type { Live } from './live.ts';

/** The last baseline of a view. */
export const baselineOf = (page: StylusPage, view: View): Capture | null =>
  page.captures.findLast((one) => one.isBaseline && one.view === view) ?? null;

/** Hands the baseline's picture to the reading thread, and takes it back when another view is chosen. */
export function useBaseline(live: Live, page: StylusPage, view: View, readable: boolean): Capture | null {
  const { host } = useModel();
  const baseline = useMemo(() => baselineOf(page, view), [page, view]);
  const id = baseline?.id ?? null;
  const umPerPx = baseline?.scale?.umPerPx ?? null;
  useEffect(() => {
    let wanted = true;
    const load = async (): Promise<void> => {
      if (id === null || !readable) return live.setBaseline(null, null);
      const { blob } = await loadPicture(host, id, 4096);
      const bitmap = await createImageBitmap(blob);
      // The picture as it is shown may be smaller than the original, and its pixels larger then.
      const shrunk = (baseline?.widthPx ?? bitmap.width) / bitmap.width;
      if (wanted) live.setBaseline(bitmap, umPerPx === null ? null : umPerPx * shrunk);
    };
    // Without the picture there is only nothing to compare with.
    load().catch(() => live.setBaseline(null, null));
    return () => {
      wanted = false;
    };
    // oxlint-disable-next-line react/exhaustive-deps
  }, [live, host, id, umPerPx, readable]);
  return baseline;
}

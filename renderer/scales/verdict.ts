import { cardVerdict, type CarryVerdict } from '../../core/calibration/carried-over.ts';
import type { CameraRecord, ScaleCard } from '../../shared/index.ts';

/** What is known of a picture that wants a scale. */
export type WantsScale = {
  readonly microscope: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly zoom: number | null;
  readonly focus: number | null;
  /** For a live picture, what the camera read back. */
  readonly camera?: CameraRecord | null;
};

const numberOf = (value: unknown): number | null => (typeof value === 'number' ? value : null);

export function verdictFor(card: ScaleCard, picture: WantsScale): CarryVerdict {
  const live = picture.camera ?? null;
  return cardVerdict(card, {
    names: [picture.microscope, live?.camera ?? ''],
    frameWidthPx: picture.widthPx,
    frameHeightPx: picture.heightPx,
    resizeMode: live?.resizeMode ?? null,
    zoom: numberOf(live?.settings['zoom']) ?? picture.zoom,
    focus: numberOf(live?.settings['focusDistance']) ?? picture.focus,
  });
}

/** Cards that may hold first, then those that cannot; newest first within each. */
export function sortedFor(cards: readonly ScaleCard[], picture: WantsScale): readonly ScaleCard[] {
  const rank = (card: ScaleCard): number =>
    ({ holds: 0, unknown: 1, differs: 2 })[verdictFor(card, picture).verdict];
  return cards.toSorted((a, b) => rank(a) - rank(b));
}

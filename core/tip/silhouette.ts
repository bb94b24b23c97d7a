import { median } from '../fit/select.ts';
import { INTERIOR, type CaptureModel } from './capture-model.ts';
import type { Prepared } from './single.ts';

/** Part of the field's light that may still come off the edge of a silhouette: between 0 and 0.33 in some 400 rendered ones. */
const MOST_LIGHT = 0.45;

/**
 * Does the capture show a silhouette: a part that is dark right up to its edge? A clear part lit from the front before a
 * bright ground is darker than the ground as well, but its edge has a light of its own, which moves it as any shading does.
 * `p`: local parameters of the fit.
 */
export function isSilhouette(prepared: Prepared, { knots }: CaptureModel, p: ArrayLike<number>): boolean {
  if (!prepared.darkPart) return false;
  const edge = median(Array.from(knots, (_, i) => p[INTERIOR + i]));
  return edge < MOST_LIGHT * prepared.fieldAtTip;
}

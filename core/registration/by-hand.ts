import { imageToTip, tipToImage, type Pose, type Warning } from '../../shared/index.ts';
import type { Located } from '../tip/locate.ts';

/**
 * How a hand laid the later capture over the baseline: where both lie in one frame. Which frame does not matter, only
 * how the two lie to each other; um/px there may be any unit that is the same for both.
 */
export type HandPlacing = { readonly baseline: Pose; readonly later: Pose };

/**
 * The tip of the later capture where the hand says it is: the baseline's own found tip, carried over. A start for the
 * fit, as good as the hand; the fit refines it and the usual checks judge what comes out.
 * @param baseline tip found in the baseline, pixels of the baseline
 * @returns pixels of the later capture; the rim is left empty, and the shank is not claimed to be seen
 */
export function locatedByHand(baseline: Located, placing: HandPlacing): Located {
  const { xPx: x, yPx: y } = baseline;
  const at = tipToImage(placing.later, imageToTip(placing.baseline, { x, y }));
  const ratio = scaleRatioOf(placing);
  const turn = ((placing.later.rotationDeg - placing.baseline.rotationDeg) * Math.PI) / 180;
  return {
    ...baseline,
    xPx: at.x,
    yPx: at.y,
    rotation: baseline.rotation + turn,
    radiusPx: baseline.radiusPx * ratio,
    flankPx: baseline.flankPx * ratio,
    shankPx: null,
    rim: { x: new Float64Array(0), y: new Float64Array(0) },
  };
}

/** Pixels of the later capture per pixel of the baseline for the same length. */
export const scaleRatioOf = ({ baseline, later }: HandPlacing): number => baseline.umPerPx / later.umPerPx;

export const BY_HAND: Warning = {
  code: 'registration-by-hand',
  message:
    'The later picture was laid over the baseline by hand, and the fit went on from there. Look at the overlay before you trust the numbers.',
};

import { INTERIOR, type CaptureModel } from './capture-model.ts';
import type { Prior } from './problem.ts';
import type { Prepared } from './single.ts';

/**
 * What two lit captures of one part have in common inside: the same surface under much the same lamps looks the same at the same place,
 * but for one factor of exposure. Without that each capture settles for itself whether its rim is darker or its edge further
 * in, and the two answers differ by more than the part changed.
 */
export type TiedCapture = {
  readonly model: CaptureModel;
  readonly map: Int32Array;
  readonly prepared: Prepared;
};

/**
 * Standard deviations of the difference, in parts of the contrast, of every kind of interior parameter: lamps are put up again and
 * the part is turned below them. Near the walls (these parts of a radius from the apex, along the outline) a flat may have taken the place of
 * the round tip and mirrors something else. From the laboratory's pictures and from no theory.
 */
const ELSEWHERE = 0.05;
const NEAR_WALL = 0.2;
const WALL_FROM = 0.3;
const WALL_TO = 1.3;
/** Standard deviation of the exposures' ratio beside the ratio of the two contrasts, relative. */
const EXPOSURE = 0.1;

/**
 * Priors later = ratio (1 + e) baseline at the later capture's knots, baseline interpolated between its own; e is a parameter of its own
 * at the global place `exposure`, which enters at the interior of the start.
 */
export function tiedInteriors(
  [baseline, later]: readonly [TiedCapture, TiedCapture],
  start: ArrayLike<number>,
  radius: number,
  exposure: number,
): Prior[] {
  const from = baseline.model.knots;
  const to = later.model.knots;
  const step = (from[from.length - 1] - from[0]) / (from.length - 1);
  const ratio = later.prepared.contrast / baseline.prepared.contrast;
  const kinds = (later.model.size - INTERIOR) / to.length;
  const priors: Prior[] = [{ terms: [[exposure, 1]], value: 0, sd: EXPOSURE }];
  to.forEach((s, i) => {
    const at = (s - from[0]) / step;
    if (at < 0 || at > from.length - 1) return;
    const j = Math.min(from.length - 2, Math.floor(at));
    const share = at - j;
    const away = Math.abs(s) / radius;
    const part = away > WALL_FROM && away < WALL_TO ? NEAR_WALL : ELSEWHERE;
    for (let kind = 0; kind < kinds; kind++) {
      const first = baseline.map[INTERIOR + kind * from.length + j];
      const second = baseline.map[INTERIOR + kind * from.length + j + 1];
      // levels are light of the part, of which the field's is none; the other kinds are differences already
      const [fieldBefore, fieldAfter] =
        kind === 0 ? [baseline.prepared.fieldAtTip, later.prepared.fieldAtTip] : [0, 0];
      const light = (1 - share) * start[first] + share * start[second] - fieldBefore;
      priors.push({
        terms: [
          [later.map[INTERIOR + kind * to.length + i], 1],
          [first, -ratio * (1 - share)],
          [second, -ratio * share],
          [exposure, -ratio * light],
        ],
        value: fieldAfter - ratio * fieldBefore,
        sd: part * later.prepared.contrast,
      });
    }
  });
  return priors;
}

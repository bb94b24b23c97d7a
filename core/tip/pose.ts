import type { Pose } from '../../shared/index.ts';
import { KAPPA, POSE, type Band } from './capture-model.ts';
import { placer, wedgeOf } from './wedge.ts';

/** Any angle in degrees, from -180 up to but not including 180. */
export const wrapDeg = (angle: number): number => ((((angle + 180) % 360) + 360) % 360) - 180;

/** Where the fitted parameters put the tip in a picture; `umPerPx` is the stated scale that the fit corrects. */
export function poseOf(p: ArrayLike<number>, umPerPx: number): Pose {
  return {
    xPx: p[POSE] / umPerPx,
    yPx: p[POSE + 1] / umPerPx,
    rotationDeg: wrapDeg(p[POSE + 2] * (180 / Math.PI)),
    umPerPx: umPerPx * (1 + p[KAPPA]),
  };
}

/** Weights of a band's pixels by where each lies along the fitted outline: `weight` is given s, um from the tip. */
export function weighAlong(
  p: ArrayLike<number>,
  weight: (s: number) => number,
): (band: Band) => Float64Array {
  const place = placer(wedgeOf(p));
  const c = Math.cos(p[POSE + 2]);
  const sn = Math.sin(p[POSE + 2]);
  return (band) =>
    Float64Array.from({ length: band.n }, (_, k) => {
      const dx = band.x[k] - p[POSE];
      const dy = band.y[k] - p[POSE + 1];
      return weight(place(c * dx - sn * dy, sn * dx + c * dy).s);
    });
}

import { tipToImage, type Pose } from '../../shared/geometry.ts';
import type { MarkPoint } from '../../shared/index.ts';

/**
 * Moving the later picture over the baseline by hand: its pose in the stage's frame, shifted, turned and scaled. The
 * stage's frame stays where it is; the picture moves in it.
 */
export type HandMove = {
  /** In the stage's frame: x to the right, y down with the tip down. */
  readonly dx: number;
  readonly dy: number;
  /** Anticlockwise on screen. */
  readonly turnDeg: number;
  /** How much larger the later picture shows, per cent; 100 = as it was. */
  readonly percent: number;
};
export const NO_MOVE: HandMove = { dx: 0, dy: 0, turnDeg: 0, percent: 100 };

/** `about`: the point of the stage's frame that turning and scaling leave in place. */
export function movedPose(
  start: Pose,
  move: HandMove,
  about: { readonly x: number; readonly y: number },
): Pose {
  const f = move.percent / 100;
  const a = (move.turnDeg * Math.PI) / 180;
  const [c, s] = [Math.cos(a) / f, Math.sin(a) / f];
  // What shall show at p is what showed at the turned-back, shrunk-back, shifted-back p before.
  const back = (x: number, y: number): { x: number; y: number } => {
    const [px, py] = [x - move.dx - about.x, y - move.dy - about.y];
    return { x: about.x + c * px - s * py, y: about.y + s * px + c * py };
  };
  const origin = tipToImage(start, back(0, 0));
  return {
    xPx: origin.x,
    yPx: origin.y,
    rotationDeg: start.rotationDeg - move.turnDeg,
    umPerPx: start.umPerPx * f,
  };
}

export type PointPair = {
  readonly baseline: MarkPoint;
  readonly later: { readonly x: number; readonly y: number };
};

/**
 * The pose that brings points of the later picture (pixels) onto those of the baseline (stage's frame): least squares of
 * a turn and a shift, with the scale too where `freeScale`. Null for fewer than two pairs or pairs in one place.
 */
export function poseFromPoints(
  pairs: readonly PointPair[],
  umPerPx: number,
  freeScale: boolean,
): Pose | null {
  if (pairs.length < 2) return null;
  const mean = (pick: (one: PointPair) => number): number =>
    pairs.reduce((sum, one) => sum + pick(one), 0) / pairs.length;
  const bx = mean((one) => one.baseline[0]);
  const by = mean((one) => one.baseline[1]);
  const lx = mean((one) => one.later.x);
  const ly = mean((one) => one.later.y);
  // With z = x + iy, later = o + e^(-ia) baseline / k: the sum of conj(b) l holds both the turn and the scale.
  let re = 0;
  let im = 0;
  let spread = 0;
  for (const { baseline, later } of pairs) {
    const [x, y] = [baseline[0] - bx, baseline[1] - by];
    const [u, v] = [later.x - lx, later.y - ly];
    re += x * u + y * v;
    im += x * v - y * u;
    spread += x * x + y * y;
  }
  const size = Math.hypot(re, im);
  if (size === 0 || spread === 0) return null;
  const perPx = freeScale ? spread / size : umPerPx;
  const rotationDeg = (-Math.atan2(im, re) * 180) / Math.PI;
  const turned = tipToImage({ xPx: 0, yPx: 0, rotationDeg, umPerPx: perPx }, { x: bx, y: by });
  return { xPx: lx - turned.x, yPx: ly - turned.y, rotationDeg, umPerPx: perPx };
}

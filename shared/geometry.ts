/**
 * Points that remember their frame. Image frame: pixels, x right, y down, pixel centres on whole numbers.
 * Tip frame: micrometres, origin at the centre of the circle fitted to the baseline's unworn tip, tip pointing
 * down on screen, x right, y down; polar angle 0 degrees to the right, 90 towards the apex, 180 to the left.
 */
declare const frame: unique symbol;
type In<Frame extends string> = { readonly x: number; readonly y: number; readonly [frame]?: Frame };

export type BaselinePoint = In<'baseline-px'>;
export type LaterPoint = In<'later-px'>;
export type ImagePoint = In<'image-px'>;
export type TipPoint = In<'tip-um'>;

/**
 * Where a capture's tip frame lies in its picture: image = origin + (1/umPerPx) * Rot(rotation) * tip, where
 * Rot turns anticlockwise on screen. rotationDeg 0 means that the tip points down in the picture.
 */
export type Pose = {
  readonly xPx: number;
  readonly yPx: number;
  readonly rotationDeg: number;
  readonly umPerPx: number;
};

/** Tip frame (um) to image frame (px). */
export function tipToImage(pose: Pose, point: TipPoint): ImagePoint {
  const a = (pose.rotationDeg * Math.PI) / 180;
  const c = Math.cos(a) / pose.umPerPx;
  const s = Math.sin(a) / pose.umPerPx;
  // y points down, so an anticlockwise turn on screen is (x, y) -> (c x + s y, -s x + c y).
  return { x: pose.xPx + c * point.x + s * point.y, y: pose.yPx - s * point.x + c * point.y };
}

/** Image frame (px) to tip frame (um); inverse of {@link tipToImage}. */
export function imageToTip(pose: Pose, point: ImagePoint): TipPoint {
  const a = (pose.rotationDeg * Math.PI) / 180;
  const c = Math.cos(a) * pose.umPerPx;
  const s = Math.sin(a) * pose.umPerPx;
  const dx = point.x - pose.xPx;
  const dy = point.y - pose.yPx;
  return { x: c * dx - s * dy, y: s * dx + c * dy };
}

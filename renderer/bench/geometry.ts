import { imageToTip, tipToImage, type Pose, type TipPoint } from '../../shared/geometry.ts';

/**
 * Where the stage looks, in the baseline's tip frame. `at` is shown in the middle of the stage, `zoom` is CSS pixels
 * per micrometre, `turnDeg` turns what is shown anticlockwise; 0 has the tip pointing down.
 */
export type StageView = { readonly at: TipPoint; readonly zoom: number; readonly turnDeg: number };
/** A point of the stage, CSS pixels from its middle, x right, y down. */
export type StagePoint = { readonly x: number; readonly y: number };
export type Size = { readonly width: number; readonly height: number };

export const FIRST_VIEW: StageView = { at: { x: 0, y: 0 }, zoom: 1, turnDeg: 0 };
const LEAST_ZOOM = 0.02;
const MOST_ZOOM = 400;

// The stage is a picture like any other: its pose in the tip frame says everything.
const poseOf = (view: StageView): Pose => {
  const turned: Pose = { xPx: 0, yPx: 0, rotationDeg: view.turnDeg, umPerPx: 1 / view.zoom };
  const at = tipToImage(turned, view.at);
  return { ...turned, xPx: -at.x, yPx: -at.y };
};

export const toStage = (view: StageView, point: TipPoint): StagePoint => tipToImage(poseOf(view), point);
export const fromStage = (view: StageView, point: StagePoint): TipPoint => imageToTip(poseOf(view), point);

/** Zooms so that what lies under `point` stays there. */
export function zoomAbout(view: StageView, factor: number, point: StagePoint): StageView {
  const zoom = Math.min(MOST_ZOOM, Math.max(LEAST_ZOOM, view.zoom * factor));
  const under = fromStage(view, point);
  const moved = fromStage({ ...view, zoom }, point);
  return { ...view, zoom, at: { x: view.at.x + under.x - moved.x, y: view.at.y + under.y - moved.y } };
}

/** Moves what is shown by so many CSS pixels. */
export function panBy(view: StageView, dx: number, dy: number): StageView {
  return { ...view, at: fromStage(view, { x: -dx, y: -dy }) };
}

/** The tip and a good part of its flanks: 3 R to each side of the middle fill the stage. */
export function fitTip(size: Size, radiusUm: number): StageView {
  const zoom = Math.min(size.width, size.height) / (6 * radiusUm);
  return { at: { x: 0, y: -0.9 * radiusUm }, zoom, turnDeg: 0 };
}

/** What is outlined, and about as much again to each side of it. */
export function fitOutlines(
  size: Size,
  outlines: readonly { readonly outline: readonly (readonly [number, number])[] }[],
): StageView {
  const points = outlines.flatMap(({ outline }) => outline);
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const span = Math.max(right - left, bottom - top, 1);
  const zoom = Math.min(size.width, size.height) / (3 * span);
  return { at: { x: (left + right) / 2, y: (top + bottom) / 2 }, zoom, turnDeg: 0 };
}

export function fitPicture(size: Size, pose: Pose, picture: Size, turnDeg: number): StageView {
  const at = imageToTip(pose, { x: (picture.width - 1) / 2, y: (picture.height - 1) / 2 });
  const along = turnedSize(picture, turnDeg - pose.rotationDeg);
  const pxPerPx = Math.min(size.width / along.width, size.height / along.height);
  return { at, zoom: (0.96 * pxPerPx) / pose.umPerPx, turnDeg };
}

function turnedSize({ width, height }: Size, degrees: number): Size {
  const c = Math.abs(Math.cos((degrees * Math.PI) / 180));
  const s = Math.abs(Math.sin((degrees * Math.PI) / 180));
  return { width: c * width + s * height, height: s * width + c * height };
}

export type Matrix = readonly [number, number, number, number, number, number];

/**
 * Canvas matrix (a, b, c, d, e, f) that draws a bitmap where its picture lies on the stage. `reduction` is bitmap
 * pixels per picture pixel. A canvas counts from the pixels' edges, poses from their centres: half a pixel apart.
 */
export function bitmapMatrix(view: StageView, pose: Pose, reduction: number, middle: StagePoint): Matrix {
  const place = (x: number, y: number): StagePoint => {
    const p = toStage(view, imageToTip(pose, { x: x / reduction - 0.5, y: y / reduction - 0.5 }));
    return { x: p.x + middle.x, y: p.y + middle.y };
  };
  const o = place(0, 0);
  const i = place(1, 0);
  const j = place(0, 1);
  return [i.x - o.x, i.y - o.y, j.x - o.x, j.y - o.y, o.x, o.y];
}

/** Polar angle in the tip frame: 0 to the right, 90 towards the apex, 180 to the left; from -90 to 270. */
export function polarDeg({ x, y }: TipPoint): number {
  const degrees = (Math.atan2(y, x) * 180) / Math.PI;
  return degrees < -90 ? degrees + 360 : degrees;
}

/** The largest of 1, 2, 5 times a power of ten that is not longer than `most`. */
export function niceLength(most: number): number {
  const power = 10 ** Math.floor(Math.log10(most));
  return [5, 2].map((step) => step * power).find((length) => length <= most) ?? power;
}

/** Where a contour crosses the ray at a polar angle; null outside of it. */
export function contourAt(contour: readonly (readonly [number, number])[], degrees: number): TipPoint | null {
  for (let i = 1; i < contour.length; i += 1) {
    const [ax, ay] = contour[i - 1];
    const [bx, by] = contour[i];
    const a = polarDeg({ x: ax, y: ay }) - degrees;
    const b = polarDeg({ x: bx, y: by }) - degrees;
    if (a === 0 || (a > 0 !== b > 0 && Math.abs(a - b) < 90)) {
      const t = a === b ? 0 : a / (a - b);
      return { x: ax + t * (bx - ax), y: ay + t * (by - ay) };
    }
  }
  return null;
}

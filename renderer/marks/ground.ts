import type { Pose } from '../../shared/geometry.ts';
import {
  angleOfMark,
  lengthOfShape,
  shapeFromPicture,
  shapeInTipFrame,
  shapeToPicture,
  tipPlaceOf,
  type Capture,
  type Mark,
  type MarkDraft,
  type MarkKind,
  type MarkShape,
  type MarkSize,
  type StylusPage,
} from '../../shared/index.ts';

/** The pictures that lie on the stage and where; new marks are made on the first. */
export type Ground = {
  readonly page: StylusPage;
  readonly shown: readonly { readonly capture: Capture; readonly pose: Pose }[];
};

/** A mark's shape in the frame of the stage; null when it has no place there. */
export function onStage(
  mark: Pick<Mark, 'frame' | 'unit' | 'shape' | 'captureId'>,
  ground: Ground,
): MarkShape | null {
  const own = ground.shown.find(({ capture }) => capture.id === mark.captureId);
  if (mark.frame === 'picture' && own !== undefined) return shapeFromPicture(mark.shape, own.pose);
  for (const { capture, pose } of ground.shown) {
    const place = tipPlaceOf(ground.page, capture.id);
    const inTip = place === null ? null : shapeInTipFrame(mark, ground.page, place.unit);
    if (place !== null && inTip !== null) return shapeFromPicture(shapeToPicture(inTip, place.pose), pose);
  }
  return null;
}

/** Where and in which unit a shape drawn on the stage is kept: in the tip frame if the picture has one. */
export function fromStageShape(
  shape: MarkShape,
  { page, shown: [{ capture, pose }] }: Ground,
): Pick<MarkDraft, 'frame' | 'unit' | 'shape'> {
  const inPicture = shapeToPicture(shape, pose);
  const place = tipPlaceOf(page, capture.id);
  if (place === null) return { frame: 'picture', unit: 'px', shape: inPicture };
  return { frame: 'tip', unit: place.unit, shape: shapeFromPicture(inPicture, place.pose) };
}

/** What turns lengths of a mark's own unit into stated values with their doubt. */
export type Sizing = {
  readonly unit: 'um' | 'percent-of-shank' | 'px';
  /** Stated unit per unit of the mark's frame. */
  readonly factor: number;
  /** Standard uncertainty of one set point, in the mark's unit. */
  readonly pointing: number;
  /** Relative standard uncertainty of the scale. */
  readonly relative: number;
};

/** Without a stated uncertainty a scale counts as known to 0.3 %, as in the measurements. */
const SCALE_U = 0.003;

/**
 * A set point is good to a pixel of the picture, or of the screen where that is coarser (common practice, no source).
 * @param screenPx picture pixels that one screen pixel covers
 */
export function sizingFor(
  { capture, place }: { readonly capture: Capture; readonly place: ReturnType<typeof tipPlaceOf> },
  screenPx = 1,
): Sizing {
  const px = Math.max(1, screenPx);
  const { scale } = capture;
  const relative = scale === null ? 0 : (scale.standardUmPerPx ?? SCALE_U * scale.umPerPx) / scale.umPerPx;
  if (place !== null)
    return {
      unit: place.unit,
      factor: 1,
      pointing: px * place.pose.umPerPx,
      relative: place.unit === 'um' ? relative : 0,
    };
  if (scale === null) return { unit: 'px', factor: 1, pointing: px, relative: 0 };
  return { unit: 'um', factor: scale.umPerPx, pointing: px, relative };
}

/** The size of a drawn shape with its expanded uncertainty; null for what has none (a point). */
export function sizeOfShape(kind: MarkKind, shape: MarkShape, sizing: Sizing): MarkSize | null {
  const { factor, pointing, relative, unit } = sizing;
  if (shape.type === 'angle') {
    const value = angleOfMark(kind, shape);
    if (value === null) return null;
    const arm = (end: readonly [number, number]): number =>
      Math.hypot(end[0] - shape.corner[0], end[1] - shape.corner[1]);
    // Each arm's direction by its two ends; the shared corner is counted for both.
    const u = (Math.SQRT2 * pointing * Math.hypot(1 / arm(shape.from), 1 / arm(shape.to)) * 180) / Math.PI;
    return { value, expanded: Math.min(180, 2 * u), unit: 'deg', source: 'drawn' };
  }
  const length = lengthOfShape(shape);
  if (length === null) return null;
  const u = Math.hypot(Math.SQRT2 * pointing, length * relative);
  return { value: length * factor, expanded: 2 * u * factor, unit, source: 'drawn' };
}

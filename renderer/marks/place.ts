import {
  pointsOf,
  shapeFromPicture,
  tipPlaceOf,
  type Capture,
  type MarkDraft,
  type MarkKind,
  type MarkPoint,
  type MarkShape,
  type StylusPage,
} from '../../shared/index.ts';
import type { Contour } from '../bench/draw.ts';
import { fromStageShape, type Ground } from './ground.ts';

/** What a mark's place is held against, in the mark's own frame. */
export type PlaceGround = {
  /** Corners of the picture that the mark is made on. */
  readonly picture: readonly MarkPoint[];
  /** Outline of the part from one flank to the other, where one was found; and how far from it is far. */
  readonly part: { readonly outline: readonly MarkPoint[]; readonly far: number } | null;
};

/** Damage and dirt of a tip sit on its outline or within; other marks (a bend, a lean) may lie anywhere on the part. */
const ON_TIP: readonly MarkKind[] = ['chip', 'crack', 'residue'];

/** Null where the mark's frame has no place in that picture. */
export function placeGround(
  draft: Pick<MarkDraft, 'frame' | 'unit' | 'view'>,
  capture: Capture,
  page: StylusPage,
): PlaceGround | null {
  const [right, bottom] = [capture.widthPx - 0.5, capture.heightPx - 0.5];
  const corners: MarkPoint[] = [
    [-0.5, -0.5],
    [right, -0.5],
    [right, bottom],
    [-0.5, bottom],
  ];
  if (draft.frame === 'picture') return { picture: corners, part: null };
  const place = tipPlaceOf(page, capture.id);
  if (place === null || place.unit !== draft.unit) return null;
  const shape = shapeFromPicture({ type: 'outline', points: corners }, place.pose);
  return { picture: pointsOf(shape), part: null };
}

/** With the part's outline on the stage, in front views only: elsewhere more than the tip belongs to the part. */
export function withPart(
  to: PlaceGround | null,
  draft: Pick<MarkDraft, 'frame' | 'unit' | 'view'>,
  ground: Ground,
  contour: Contour | null,
  radius: number,
): PlaceGround | null {
  if (to === null || contour === null || contour.length < 8 || radius <= 0 || draft.view !== 'front')
    return to;
  const points = contour.map(([x, y]): MarkPoint => [x, y]);
  const own = fromStageShape({ type: 'outline', points }, ground);
  if (own.frame !== draft.frame || own.unit !== draft.unit) return to;
  return { ...to, part: { outline: pointsOf(own.shape), far: radius } };
}

export type PlaceProblem =
  | { readonly kind: 'outside'; readonly points: readonly number[] }
  /** On the background; how far from the outline, in the mark's unit. */
  | { readonly kind: 'background'; readonly away: number };

/** What is wrong with where a shape lies; null when nothing is. */
export function placeProblem(
  kind: MarkKind,
  shape: MarkShape,
  { picture, part }: PlaceGround,
): PlaceProblem | null {
  const points = pointsOf(shape);
  const outside = points.flatMap((point, index) => (inside(picture, point) ? [] : [index]));
  if (outside.length > 0) return { kind: 'outside', points: outside };
  if (part === null || !ON_TIP.includes(kind)) return null;
  const body = prolonged(part.outline, 40 * part.far);
  if (points.some((point) => inside(body, point))) return null;
  const away = Math.min(...points.map((point) => distance(part.outline, point)));
  return away > part.far ? { kind: 'background', away } : null;
}

/** Both flanks carried on the way they run, so that the shank above the outline belongs to the part. */
function prolonged(outline: readonly MarkPoint[], by: number): readonly MarkPoint[] {
  const step = Math.max(1, outline.length >> 3);
  const on = (end: MarkPoint, before: MarkPoint): MarkPoint => {
    const length = Math.hypot(end[0] - before[0], end[1] - before[1]) || 1;
    return [end[0] + ((end[0] - before[0]) / length) * by, end[1] + ((end[1] - before[1]) / length) * by];
  };
  const [first, last] = [outline[0], outline[outline.length - 1]];
  return [on(first, outline[step]), ...outline, on(last, outline[outline.length - 1 - step])];
}

function inside(polygon: readonly MarkPoint[], [x, y]: MarkPoint): boolean {
  let odd = false;
  for (const [i, [ax, ay]] of polygon.entries()) {
    const [bx, by] = polygon[(i + 1) % polygon.length];
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) odd = !odd;
  }
  return odd;
}

function distance(line: readonly MarkPoint[], [x, y]: MarkPoint): number {
  let least = Infinity;
  for (let i = 1; i < line.length; i++) {
    const [[ax, ay], [bx, by]] = [line[i - 1], line[i]];
    const [dx, dy] = [bx - ax, by - ay];
    const share = ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy || 1);
    const t = Math.max(0, Math.min(1, share));
    least = Math.min(least, Math.hypot(x - ax - t * dx, y - ay - t * dy));
  }
  return least;
}

import { z } from 'zod';
import { daySchema } from './dates.ts';
import { imageToTip, tipToImage, type Pose } from './geometry.ts';
import { viewSchema, type Suspicion } from './report.ts';

/**
 * What a person saw on a stylus and where. A mark lives in the tip frame of its stylus and view, so that it reappears
 * on every other registered capture; on a picture that has no tip frame yet it lives in that picture's own pixels.
 */
const idSchema = z.string().regex(/^[0-9a-z]{8,40}$/);

export const MARK_KINDS = [
  'chip',
  'residue',
  'bent-cantilever',
  'missing-diamond',
  'turned-diamond',
  'crack',
  'other',
] as const;
export const markKindSchema = z.enum(MARK_KINDS);
export type MarkKind = z.infer<typeof markKindSchema>;

export const MARK_WORDS: Readonly<Record<MarkKind, string>> = {
  chip: 'Chip',
  residue: 'Residue',
  'bent-cantilever': 'Bent cantilever',
  'missing-diamond': 'Missing diamond',
  'turned-diamond': 'Turned or leaning diamond',
  crack: 'Crack',
  other: 'Something else',
};

/** The kind of mark that answers what the program suspects. */
export const MARK_OF_SUSPICION: Readonly<Record<Suspicion['kind'], MarkKind>> = {
  chip: 'chip',
  residue: 'residue',
  'bent-cantilever': 'bent-cantilever',
  'missing-diamond': 'missing-diamond',
  'leaning-diamond': 'turned-diamond',
  'turned-diamond': 'turned-diamond',
};

/** Closer than this around the tip two places are one, degrees. */
export const SAME_PLACE_DEG = 6;
/** How far two directions lie apart, 0 to 180 degrees. */
export const degreesBetween = (a: number, b: number): number =>
  Math.abs(((((a - b + 180) % 360) + 360) % 360) - 180);

/** What ends playing once somebody has confirmed it; the rules of the advice say the same and why. */
export const ENDS_PLAYING: readonly MarkKind[] = [
  'chip',
  'crack',
  'bent-cantilever',
  'missing-diamond',
  'turned-diamond',
];

export const MARK_STATES = ['suspected', 'confirmed', 'rejected'] as const;
export const markStateSchema = z.enum(MARK_STATES);
export type MarkState = z.infer<typeof markStateSchema>;

/** x right, y down, in the mark's own frame and unit. */
const pointSchema = z.tuple([z.number(), z.number()]);
export type MarkPoint = z.infer<typeof pointSchema>;

export const markShapeSchema = z.discriminatedUnion('type', [
  z.object({ type: z.literal('point'), at: pointSchema }),
  /** A closed outline. */
  z.object({ type: z.literal('outline'), points: z.array(pointSchema).min(3).max(400) }),
  z.object({ type: z.literal('line'), from: pointSchema, to: pointSchema }),
  /** Two arms that meet in `corner`. */
  z.object({ type: z.literal('angle'), from: pointSchema, corner: pointSchema, to: pointSchema }),
]);
export type MarkShape = z.infer<typeof markShapeSchema>;

/** `tip`: tip frame of the stylus and view. `picture`: pixels of the capture that the mark was made on. */
export const markFrameSchema = z.enum(['tip', 'picture']);
export const markUnitSchema = z.enum(['um', 'percent-of-shank', 'px']);

/** A length or an angle; `expanded` null where the doubt is not known (typed without one). */
export const markSizeSchema = z.object({
  value: z.number().nonnegative().max(1e6),
  expanded: z.number().nonnegative().max(1e6).nullable(),
  unit: z.enum(['um', 'deg', 'percent-of-shank', 'px']),
  /** Read off the drawn shape, or typed over it, or taken from the program's report. */
  source: z.enum(['drawn', 'typed', 'report']),
});
export type MarkSize = z.infer<typeof markSizeSchema>;

export const markDraftSchema = z
  .object({
    stylusId: idSchema,
    view: viewSchema,
    /** The capture that was looked at when the mark was made. */
    captureId: idSchema,
    kind: markKindSchema,
    state: markStateSchema,
    frame: markFrameSchema,
    unit: markUnitSchema,
    shape: markShapeSchema,
    size: markSizeSchema.nullable(),
    note: z.string().trim().max(20_000),
    /** Who looked, in the person's own words; '' = not said. */
    seenBy: z.string().trim().max(200),
    /** The day it was seen, YYYY-MM-DD. */
    seenOn: daySchema,
    /** Where the program suspected it; null = found by a person. Kept so that a rejected place is not offered again. */
    proposed: z
      .object({
        kind: z.string().max(40),
        angleDeg: z.number(),
        sizeUm: z.number(),
        depthUm: z.number(),
        /** Expanded uncertainty of the depth, where the outlines of a pair gave one. */
        depthExpandedUm: z.number().nonnegative().optional(),
      })
      .nullable(),
  })
  .refine((mark) => (mark.frame === 'picture') === (mark.unit === 'px'), {
    message: 'a mark in a picture counts in px, one in the tip frame in um or per cent',
    path: ['unit'],
  });
export type MarkDraft = z.infer<typeof markDraftSchema>;

export const markSchema = z.object({
  ...markDraftSchema.shape,
  id: idSchema,
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
});
export type Mark = z.infer<typeof markSchema>;

/** What was read off a tip's outline beside a length: how far the place lies below it or stands out, in `unit`. */
export type MarkDepth = {
  readonly value: number;
  /** Null where none was worked out. */
  readonly expanded: number | null;
  readonly unit: 'um' | 'percent-of-shank';
  readonly word: 'deep' | 'high';
};

/** Depth of a place on the outline that the program suspected; null for every other mark. */
export function depthOfMark({
  proposed,
  size,
  unit,
}: Pick<Mark, 'proposed' | 'size' | 'unit'>): MarkDepth | null {
  if (proposed === null || (proposed.kind !== 'chip' && proposed.kind !== 'residue') || proposed.depthUm <= 0)
    return null;
  const counted = size?.source === 'report' ? size.unit : unit;
  if (counted !== 'um' && counted !== 'percent-of-shank') return null;
  const expanded = proposed.depthExpandedUm ?? null;
  return {
    value: proposed.depthUm,
    expanded,
    unit: counted,
    word: proposed.kind === 'chip' ? 'deep' : 'high',
  };
}

const ON_OUTLINE: readonly MarkKind[] = ['chip', 'residue', 'crack'];

/**
 * The size of a mark in words, the same on screen and on paper. `shown` writes a length without its doubt, `measured` one
 * with it. A suspicion is read off the outline: its length has no uncertainty, its depth where two outlines gave it.
 */
export function markSizeWords(
  mark: Pick<Mark, 'kind' | 'proposed' | 'size' | 'unit'>,
  measured: (value: { readonly value: number; readonly expanded: number }, unit: MarkSize['unit']) => string,
  shown: (value: number, unit: MarkSize['unit']) => string,
): string {
  const { size, proposed } = mark;
  if (size === null) return proposed === null && ON_OUTLINE.includes(mark.kind) ? 'marked, not measured' : '';
  const written = (one: { value: number; expanded: number | null }, unit: MarkSize['unit']): string =>
    one.expanded === null
      ? shown(one.value, unit)
      : measured({ value: one.value, expanded: one.expanded }, unit);
  const length = written(size, size.unit);
  const depth = depthOfMark(mark);
  if (depth === null && size.source !== 'report')
    return size.expanded === null ? `${length}, uncertainty not stated` : length;
  const doubtless = [
    size.expanded === null ? 'length' : null,
    depth !== null && depth.expanded === null ? 'depth' : null,
  ].filter((one) => one !== null);
  const both = depth === null ? length : `${length} long, ${written(depth, depth.unit)} ${depth.word}`;
  if (doubtless.length === 0) return both;
  return `${both}; no uncertainty worked out for the ${doubtless.join(' and ')}`;
}

/** Every point of a shape through `move`; the shape stays what it is. */
export function movedShape(shape: MarkShape, move: (point: MarkPoint) => MarkPoint): MarkShape {
  switch (shape.type) {
    case 'point':
      return { type: 'point', at: move(shape.at) };
    case 'outline':
      return { type: 'outline', points: shape.points.map(move) };
    case 'line':
      return { type: 'line', from: move(shape.from), to: move(shape.to) };
    case 'angle':
      break;
  }
  return { type: 'angle', from: move(shape.from), corner: move(shape.corner), to: move(shape.to) };
}

/** The shape's points in the order in which they are drawn. */
export function pointsOf(shape: MarkShape): readonly MarkPoint[] {
  switch (shape.type) {
    case 'point':
      return [shape.at];
    case 'outline':
      return shape.points;
    case 'line':
      return [shape.from, shape.to];
    case 'angle':
      break;
  }
  return [shape.from, shape.corner, shape.to];
}

/** The same shape with other points; `points` as many as {@link pointsOf} gave. */
export function withPoints(shape: MarkShape, points: readonly MarkPoint[]): MarkShape {
  let next = 0;
  return movedShape(shape, () => points[next++]);
}

/** Middle of a shape's points: where its label stands. */
export function middleOfShape(shape: MarkShape): MarkPoint {
  const points = pointsOf(shape);
  const sum = points.reduce<MarkPoint>(([x, y], point) => [x + point[0], y + point[1]], [0, 0]);
  return [sum[0] / points.length, sum[1] / points.length];
}

const away = (a: MarkPoint, b: MarkPoint): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** Length of a line, largest extent of an outline, in the shape's own unit; null for points and angles. */
export function lengthOfShape(shape: MarkShape): number | null {
  if (shape.type === 'line') return away(shape.from, shape.to);
  if (shape.type !== 'outline') return null;
  let most = 0;
  for (const [i, a] of shape.points.entries())
    for (const b of shape.points.slice(i + 1)) most = Math.max(most, away(a, b));
  return most;
}

/** Angle between the two arms at the corner, 0 to 180 degrees; null when an arm has no length. */
export function angleBetween(shape: Extract<MarkShape, { type: 'angle' }>): number | null {
  const { from, corner, to } = shape;
  const a = [from[0] - corner[0], from[1] - corner[1]];
  const b = [to[0] - corner[0], to[1] - corner[1]];
  if (Math.hypot(a[0], a[1]) === 0 || Math.hypot(b[0], b[1]) === 0) return null;
  const turn = Math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]);
  return (Math.abs(turn) * 180) / Math.PI;
}

/**
 * The angle that a mark of this kind states, degrees. A bend is the departure from straight, 0 for a straight
 * cantilever; every other angle is the one between the arms.
 */
export function angleOfMark(kind: MarkKind, shape: MarkShape): number | null {
  if (shape.type !== 'angle') return null;
  const between = angleBetween(shape);
  if (between === null) return null;
  return kind === 'bent-cantilever' ? 180 - between : between;
}

/** Where a capture lies in the tip frame, and in which unit that frame counts. */
export type TipPlace = { readonly pose: Pose; readonly unit: 'um' | 'percent-of-shank' };

/** The parts of a stylus page that say where captures lie. */
export type Placed = {
  readonly captures: readonly {
    readonly id: string;
    readonly isBaseline: boolean;
    readonly examination:
      | {
          readonly ok: true;
          readonly unit?: 'um' | 'percent-of-shank' | undefined;
          readonly drawing?: { readonly pose: Pose } | undefined;
        }
      | { readonly ok: false }
      | null;
  }[];
  readonly comparisons: readonly {
    readonly baselineId: string;
    readonly laterId: string;
    readonly report:
      | {
          readonly ok: true;
          readonly unit?: 'um' | 'percent-of-shank' | undefined;
          readonly drawing?: { readonly baselinePose: Pose; readonly laterPose: Pose } | undefined;
        }
      | { readonly ok: false };
  }[];
};

/**
 * Place of a capture in its stylus's tip frame: by its newest registered comparison (as the later picture before as the
 * baseline), else by the tip found in the picture alone; null when neither is there.
 */
export function tipPlaceOf(page: Placed, captureId: string): TipPlace | null {
  for (const which of ['later', 'baseline'] as const)
    for (const { baselineId, laterId, report } of [...page.comparisons].toReversed()) {
      if (!report.ok || report.drawing === undefined) continue;
      if (which === 'later' && laterId === captureId)
        return { pose: report.drawing.laterPose, unit: report.unit ?? 'um' };
      if (which === 'baseline' && baselineId === captureId)
        return { pose: report.drawing.baselinePose, unit: report.unit ?? 'um' };
    }
  const examination = page.captures.find((capture) => capture.id === captureId)?.examination;
  if (examination?.ok !== true || examination.drawing === undefined) return null;
  return { pose: examination.drawing.pose, unit: examination.unit ?? 'um' };
}

/**
 * A mark's shape in the tip frame; null when it cannot be placed there (it is bound to a picture without a pose, or
 * counts in another unit than the frame).
 */
export function shapeInTipFrame(
  mark: Pick<Mark, 'frame' | 'unit' | 'shape' | 'captureId'>,
  page: Placed,
  unit: TipPlace['unit'],
): MarkShape | null {
  if (mark.frame === 'tip') return mark.unit === unit ? mark.shape : null;
  const place = tipPlaceOf(page, mark.captureId);
  if (place === null || place.unit !== unit) return null;
  return movedShape(mark.shape, ([x, y]) => {
    const point = imageToTip(place.pose, { x, y });
    return [point.x, point.y];
  });
}

/** A shape of the tip frame in the pixels of a picture that lies there with `pose`, and back. */
export const shapeToPicture = (shape: MarkShape, pose: Pose): MarkShape =>
  movedShape(shape, ([x, y]) => {
    const point = tipToImage(pose, { x, y });
    return [point.x, point.y];
  });
export const shapeFromPicture = (shape: MarkShape, pose: Pose): MarkShape =>
  movedShape(shape, ([x, y]) => {
    const point = imageToTip(pose, { x, y });
    return [point.x, point.y];
  });

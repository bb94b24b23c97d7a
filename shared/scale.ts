import { z } from 'zod';
import { REPORT_VERSION } from './limits.ts';
import { budgetLineSchema, measuredSchema, warningSchema } from './report.ts';

/** What is measured on a picture of a ruled slide. Lengths in um or picture pixels, as the names say. */

export const SLIDE_REASONS = [
  'lines-not-found',
  'lines-irregular',
  'too-few-lines',
  'unreadable-image',
  'timed-out',
  'failed',
] as const;

/** Ten micrometres to a millimetre are what rulings have; wider bounds let an odd one in. */
export const pitchSchema = z.number().min(1).max(10_000);

/** A scale along one direction, degrees anticlockwise on screen from the picture's rows. */
export const directedScaleSchema = z.object({
  umPerPx: z.number().positive(),
  standardUmPerPx: z.number().nonnegative(),
  acrossDeg: z.number(),
});

export const pixelShapeSchema = z.object({
  rowUmPerPx: z.number().positive(),
  columnUmPerPx: z.number().positive(),
  /** column / row; 1 = square */
  aspect: z.number().positive(),
  aspectExpanded: z.number().nonnegative(),
  square: z.boolean(),
  message: z.string(),
});

export const slideAnswerSchema = z.object({
  ok: z.literal(true),
  id: z.string().optional(),
  reportVersion: z.literal(REPORT_VERSION),
  engineVersion: z.string(),
  scaleUmPerPx: measuredSchema,
  standardUmPerPx: z.number().nonnegative(),
  pitchUm: z.number().positive(),
  widthPx: z.number().int().positive(),
  heightPx: z.number().int().positive(),
  /** Direction across the lines, degrees anticlockwise on screen from right, in (-90, 90]. */
  acrossDeg: z.number(),
  lines: z.object({
    used: z.number().int(),
    missing: z.number().int(),
    /** Scatter of the lines about a straight, even rule, and the greatest departure of one line, px. */
    scatterPx: z.number().nonnegative(),
    largestResidualPx: z.number().nonnegative(),
  }),
  field: z.object({
    bendPx: z.number().nonnegative(),
    scaleChangePercent: z.number().nonnegative(),
    /** Displacement of the picture's corner by the lens, % of its distance from the middle, outwards positive; 0 unseen. */
    cornerPercent: measuredSchema.optional(),
  }),
  /** Only when a second picture, turned against this one, was measured as well. */
  pixelShape: pixelShapeSchema.nullable(),
  budget: z.array(budgetLineSchema),
  /** Found lines: [number, x1, y1, x2, y2, residual], px. */
  drawing: z.object({
    lines: z.array(z.tuple([z.number(), z.number(), z.number(), z.number(), z.number(), z.number()])),
  }),
  warnings: z.array(warningSchema),
  timingMs: z.number(),
});
export type SlideAnswer = z.infer<typeof slideAnswerSchema>;

export const slideRefusedSchema = z.object({
  ok: z.literal(false),
  id: z.string().optional(),
  reportVersion: z.literal(REPORT_VERSION),
  engineVersion: z.string(),
  reason: z.object({ code: z.enum(SLIDE_REASONS), message: z.string() }),
});
export const slideReportSchema = z.discriminatedUnion('ok', [slideAnswerSchema, slideRefusedSchema]);
export type SlideReport = z.infer<typeof slideReportSchema>;

import { z } from 'zod';
import { datedSchema, idSchema, scaleSchema } from './collection.ts';
import { slideAnswerSchema } from './scale.ts';

/**
 * What a scale belongs to: um/px changes with each of these. null = the camera does not tell, or nobody wrote it down.
 * `zoom` and `focus` are what the camera reports or what stands on the microscope's wheel; their unit is the device's own.
 */
export const microscopeSettingSchema = z.object({
  camera: z.string().trim().max(200).nullable(),
  frameWidthPx: z.number().int().positive().nullable(),
  frameHeightPx: z.number().int().positive().nullable(),
  resizeMode: z.string().trim().max(40).nullable().optional(),
  zoom: z.number().nullable(),
  focus: z.number().nullable(),
});

export const scaleCardDraftSchema = z.object({
  /** The person's name for it, or the camera's own label. */
  microscope: z.string().trim().min(1).max(200),
  frameWidthPx: z.number().int().positive().max(100_000),
  frameHeightPx: z.number().int().positive().max(100_000),
  /** As a live camera reports it; null for files. */
  resizeMode: z.string().trim().max(40).nullable(),
  zoom: z.number().nullable(),
  focus: z.number().nullable(),
  scale: scaleSchema,
  taken: datedSchema.nullable(),
  notes: z.string().trim().max(20_000),
});
export type ScaleCardDraft = z.infer<typeof scaleCardDraftSchema>;

/** One microscope at one setting, with the scale that holds there and what it was taken from. */
export const scaleCardSchema = scaleCardDraftSchema.extend({
  id: idSchema,
  /** The picture that the scale was taken from, kept as an original; null when there was none. */
  picture: z
    .object({ sha256: z.string().regex(/^[0-9a-f]{64}$/), fileName: z.string(), mediaType: z.string() })
    .nullable(),
  /** What was found on the ruled slide; null for two points and typed values. */
  slide: slideAnswerSchema.nullable(),
  /** Pictures that take their scale from this card, the bin left out. */
  usedBy: z.number().int().nonnegative(),
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
});
export type ScaleCard = z.infer<typeof scaleCardSchema>;

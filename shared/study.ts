import { z } from 'zod';
import { captureSchema, idSchema } from './collection.ts';
import { daySchema } from './dates.ts';
import { repeatabilitySchema } from './report.ts';

/**
 * A repeatability study: one stylus taken out and put back, a picture each time. Its pictures hang on the stylus but are
 * no looks at its wear, so they stay out of its timeline.
 */
export const studyDraftSchema = z.object({
  stylusId: idSchema,
  day: daySchema,
  who: z.string().trim().max(200),
  /** The person's own name for it, as at the pictures it is to count for. */
  microscope: z.string().trim().min(1).max(200),
  notes: z.string().trim().max(20_000),
});
export type StudyDraft = z.infer<typeof studyDraftSchema>;

export const studySchema = studyDraftSchema.extend({
  id: idSchema,
  /** Whether it is counted in the budgets of that microscope. */
  counts: z.boolean(),
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
});
export type Study = z.infer<typeof studySchema>;

const spreadSchema = z.object({
  count: z.number().int(),
  mean: z.number(),
  single: z.number().nonnegative(),
  degreesOfFreedom: z.number().positive(),
  fit: z.number().nonnegative(),
});
export const studyResultSchema = z.object({
  count: z.number().int(),
  left: spreadSchema.nullable(),
  right: spreadSchema.nullable(),
  radius: spreadSchema,
});

export const studySeenSchema = z.object({
  study: studySchema,
  stylusName: z.string(),
  pictures: z.number().int(),
  /** Pictures that gave a reading. */
  readings: z.number().int(),
  /** null below five readings. */
  result: studyResultSchema.nullable(),
});
export type StudySeen = z.infer<typeof studySeenSchema>;

/** What counts for one microscope: the chosen studies pooled, or why they cannot be. */
export const countedSchema = z.object({
  microscope: z.string(),
  who: z.string(),
  studyIds: z.array(idSchema),
  given: repeatabilitySchema.nullable(),
  test: z.object({ ratio: z.number(), limit: z.number() }).nullable(),
  problem: z.string().nullable(),
});
export type Counted = z.infer<typeof countedSchema>;

export const studyListSchema = z.object({
  studies: z.array(studySeenSchema),
  counted: z.array(countedSchema),
  /** Stored results of whose pictures another study, or none, was counted than counts now. */
  outdated: z.number().int(),
});
export type StudyList = z.infer<typeof studyListSchema>;

export const studyPageSchema = z.object({ seen: studySeenSchema, captures: z.array(captureSchema) });
export type StudyPage = z.infer<typeof studyPageSchema>;

import { z } from 'zod';
import { idSchema } from './collection.ts';
import { measuredSchema } from './report.ts';

/** Wear against hours, as the host answers it: the fitted law of each wall, its band, and when a limit is reached. */

/** A 95 % range with its middle; null where it may never be reached. */
const rangeSchema = z.object({
  low: z.number().nullable(),
  value: z.number().nullable(),
  high: z.number().nullable(),
});
const dateRangeSchema = z.object({
  low: z.string().nullable(),
  value: z.string().nullable(),
  high: z.string().nullable(),
});

export const wallCourseSchema = z.object({
  pointCount: z.number().int(),
  /** n of w^n - w0^n = c t. */
  exponent: measuredSchema,
  /** c, um^n per hour; its unit changes with n. */
  rate: measuredSchema,
  /** w0: width at 0 hours, um. */
  startUm: measuredSchema,
  /** Factor by which the stated uncertainties were widened; 1 where the points scatter as they claim. */
  widened: z.number(),
  /** 95 % band of the true width, um, over the hours. */
  band: z.array(z.object({ hours: z.number(), value: z.number(), low: z.number(), high: z.number() })),
  /** When the person's own limit is reached: total hours, and dates at the present habit; null without a limit. */
  limit: z.object({ hours: rangeSchema, dates: dateRangeSchema.nullable() }).nullable(),
});
export type WallCourse = z.infer<typeof wallCourseSchema>;

export const nextLookSchema = z.object({
  date: z.string(),
  overdue: z.boolean(),
  why: z.string(),
  /** Every rule that was asked, with the date it gives; the earliest holds. */
  rules: z.array(z.object({ rule: z.string(), date: z.string().nullable() })),
});

export const wearCourseSchema = z.object({
  left: wallCourseSchema.nullable(),
  right: wallCourseSchema.nullable(),
  /** Left and right differ by more than their uncertainty. */
  uneven: z.boolean(),
  habit: z
    .object({
      hoursPerWeek: z.number(),
      from: z.enum(['weekly habit', 'last half year', 'since it began']),
    })
    .nullable(),
  /** False: the hours count from the daybook's start only. */
  hoursKnown: z.boolean(),
  hoursNow: z.number(),
  /** What the numbers cannot say, and how little a few points say. */
  sentences: z.array(z.string()),
  look: nextLookSchema,
});
export type WearCourse = z.infer<typeof wearCourseSchema>;

/** When one stylus on the shelf is to be looked at, and by which rule. */
export const dueLookSchema = z.object({
  stylusId: idSchema,
  name: z.string(),
  cartridge: z.string(),
  deck: z.string(),
  demo: z.boolean(),
  look: nextLookSchema,
});
export type DueLook = z.infer<typeof dueLookSchema>;
export type NextLookAnswer = z.infer<typeof nextLookSchema>;

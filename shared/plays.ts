import { z } from 'zod';

/** A list of plays from somewhere else (CSV): how its columns are read, and what became of each row. */

export const PLAY_LIST_UNITS = ['minutes', 'hours', 'seconds', 'sides', 'records'] as const;
export const DATE_ORDERS = ['year-month-day', 'day-month-year', 'month-day-year'] as const;

const column = z.number().int().min(0).max(499);
export const playMappingSchema = z.object({
  /** The first row holds names. */
  header: z.boolean(),
  date: column,
  dateOrder: z.enum(DATE_ORDERS),
  title: column.nullable(),
  /** null: every row is one of the unit. */
  amount: column.nullable(),
  unit: z.enum(PLAY_LIST_UNITS),
  /** Names the deck or the stylus that a row was played with; null: all rows belong to the chosen stylus. */
  deck: column.nullable(),
  minutesPerSide: z.number().positive().max(120),
});
export type PlayMapping = z.infer<typeof playMappingSchema>;

export const playRowSchema = z.object({
  /** As a table program counts it: the first row is 1. */
  row: z.number().int(),
  state: z.enum(['new', 'known', 'refused']),
  date: z.string().nullable(),
  title: z.string(),
  hours: z.number().nullable(),
  stylusName: z.string().nullable(),
  /** Why a row is refused or passed over, and what to do. */
  reason: z.string().nullable(),
});
export type PlayRow = z.infer<typeof playRowSchema>;

export const playListSchema = z.object({
  delimiter: z.string(),
  encoding: z.string(),
  columns: z.array(z.object({ name: z.string(), samples: z.array(z.string()) })),
  mapping: playMappingSchema,
  /** A sentence about what could not be told from the file, such as the order of day and month. */
  doubts: z.array(z.string()),
  counts: z.object({ new: z.number().int(), known: z.number().int(), refused: z.number().int() }),
  hours: z.number(),
  firstDate: z.string().nullable(),
  lastDate: z.string().nullable(),
  /** The first rows as they would come in, and the refused ones. */
  preview: z.array(playRowSchema),
  refused: z.array(playRowSchema),
});
export type PlayList = z.infer<typeof playListSchema>;

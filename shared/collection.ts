import { z } from 'zod';
import { cleanedSchema } from './cleaning.ts';
import { daySchema, wallSchema } from './dates.ts';
import { listeningSchema } from './listening.ts';
import { markKindSchema, markSchema } from './marks.ts';
import { cameraRecordSchema } from './camera.ts';
import {
  cantileverReportSchema,
  comparisonReportSchema,
  examinationReportSchema,
  handPlacingSchema,
  viewSchema,
} from './report.ts';

/** What a collection holds. Rows are validated with these schemas wherever they cross a border. */

export const idSchema = z.string().regex(/^[0-9a-z]{8,40}$/);
const text = (max: number) => z.string().trim().max(max);

/**
 * A date as it was found: wall time, offset only where known, and where it came from. Never silently the file's time.
 * `wall` is YYYY-MM-DD, or YYYY-MM-DDTHH:MM[:SS].
 */
export const datedSchema = z.object({
  wall: wallSchema,
  offset: z
    .string()
    .regex(/^([+-]\d{2}:\d{2}|Z)$/)
    .nullable(),
  source: z.enum(['exif', 'file-name', 'file-time', 'person', 'camera', 'invented']),
});
export type Dated = z.infer<typeof datedSchema>;

export const lightSchema = z.enum(['backlit', 'ring', 'side-light', 'unknown']);

/** Micrometres per pixel of a capture, its standard uncertainty (null: a default is used and said), and its origin. */
export const scaleSchema = z.object({
  umPerPx: z.number().positive().max(1000),
  standardUmPerPx: z.number().nonnegative().nullable(),
  source: z.enum(['typed', 'two-points', 'ruled-slide', 'carried-over', 'invented']),
  /** The scale card it was taken from, and the zoom and focus of this picture as far as they are known. */
  card: z
    .object({ id: idSchema, zoom: z.number().nullable(), focus: z.number().nullable() })
    .nullable()
    .optional(),
});
export type Scale = z.infer<typeof scaleSchema>;

/** Speed of the turntable, 1/min, and the radii between which a record is cut, mm. */
export const grooveSchema = z
  .object({
    rpm: z.number().positive().max(120),
    outerMm: z.number().positive().max(200),
    innerMm: z.number().positive().max(200),
  })
  .refine((groove) => groove.innerMm < groove.outerMm);

export const stylusDraftSchema = z.object({
  name: text(200).min(1),
  cartridge: text(200),
  profile: text(200),
  deck: text(200),
  /** Nominal tip radii as stated by the seller, um; null when unknown. */
  radiusUm: z.number().positive().max(500).nullable(),
  sideRadiusUm: z.number().positive().max(500).nullable(),
  ratedHours: z.number().positive().max(100_000).nullable(),
  startDate: daySchema.nullable(),
  /** Hours already played at the start; null = unknown history. */
  startHours: z.number().nonnegative().max(100_000).nullable(),
  price: z.number().nonnegative().max(1e7).nullable(),
  currency: text(8),
  /** The person's own limit for the flat width, um; null when none was set. */
  limitUm: z.number().positive().max(200).nullable(),
  notes: text(20_000),
  /** Standard uncertainty of the hours at the start; absent: they are taken as exact. */
  startStandardHours: z.number().nonnegative().max(100_000).nullable().optional(),
  /** Usual length of a side on this deck, minutes; absent: the person's general one. */
  minutesPerSide: z.number().positive().max(120).nullable().optional(),
  /** Speed and radii of the records it usually plays; absent: a 30 cm long-playing record. */
  groove: grooveSchema.nullable().optional(),
});
export type StylusDraft = z.infer<typeof stylusDraftSchema>;

export const stylusSchema = stylusDraftSchema.extend({
  id: idSchema,
  createdAt: z.string(),
  demo: z.boolean(),
  binnedAt: z.string().nullable(),
  retired: z.object({ date: z.string(), reason: z.string(), successorId: idSchema.nullable() }).nullable(),
});
export type Stylus = z.infer<typeof stylusSchema>;

export const captureSchema = z.object({
  id: idSchema,
  stylusId: idSchema,
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
  fileName: z.string(),
  mediaType: z.string(),
  widthPx: z.number().int().positive(),
  heightPx: z.number().int().positive(),
  view: viewSchema,
  light: lightSchema,
  mirrored: z.boolean().nullable(),
  taken: datedSchema.nullable(),
  scale: scaleSchema.nullable(),
  /** A scale that was taken away because its card does not belong to this picture; the reason is a sentence. */
  heldBackScale: z.object({ scale: scaleSchema, reason: z.string() }).nullable().optional(),
  microscope: z.string(),
  /** How it was taken, for a live picture; null for a file. */
  camera: cameraRecordSchema.nullable(),
  isBaseline: z.boolean(),
  notes: z.string(),
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
  /** The stored result of looking at this one picture, if it was asked for. */
  examination: examinationReportSchema.nullable(),
  cantilever: cantileverReportSchema.nullable(),
});
export type Capture = z.infer<typeof captureSchema>;

/** What was said of a picture and what it was taken with, without what was measured on it. */
export const pictureFactsSchema = captureSchema.pick({
  id: true,
  stylusId: true,
  widthPx: true,
  heightPx: true,
  view: true,
  light: true,
  mirrored: true,
  taken: true,
  scale: true,
  microscope: true,
  camera: true,
  isBaseline: true,
  createdAt: true,
});
export type PictureFacts = z.infer<typeof pictureFactsSchema>;
/** Of one stylus the pictures from which something can be taken over; oldest first, undated last. */
export const knownPicturesSchema = z.object({
  stylus: stylusSchema.pick({ id: true, name: true }),
  captures: z.array(pictureFactsSchema),
});
export type KnownPictures = z.infer<typeof knownPicturesSchema>;

export const comparisonSchema = z.object({
  id: idSchema,
  stylusId: idSchema,
  baselineId: idSchema,
  laterId: idSchema,
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
  engineVersion: z.string(),
  report: comparisonReportSchema,
  /** How a hand laid them over each other before it was measured; null or absent = the program found it alone. */
  hand: handPlacingSchema.nullable().optional(),
  /** Hours on the stylus when the later capture was taken; null when not known. */
  hoursAtLater: z.number().nullable(),
});
export type Comparison = z.infer<typeof comparisonSchema>;

/** Everything on the timeline that is neither a capture nor a comparison. */
export const ENTRY_KINDS = [
  'playing',
  'cleaning',
  'listening',
  'set-up',
  'note',
  'decision',
  'replacement',
] as const;
export const entryKindSchema = z.enum(ENTRY_KINDS);
export type EntryKind = z.infer<typeof entryKindSchema>;

export const PLAY_UNITS = ['sides', 'records', 'evenings', 'hours', 'minutes'] as const;
const dateSchema = daySchema;
export const playedSchema = z.object({
  amount: z.number().positive().max(100_000),
  unit: z.enum(PLAY_UNITS),
  /** Minutes per side used for the conversion. */
  minutesPerSide: z.number().positive().max(120),
  hours: z.number().nonnegative().max(100_000),
  /** True when the figure is an estimate (a habit, not a log). */
  estimated: z.boolean(),
  /** First day of the stretch that ends on the entry's date; absent: that day only. */
  from: dateSchema.nullable().optional(),
  /** Sides in an evening, for that unit. */
  sidesPerEvening: z.number().positive().max(50).nullable().optional(),
  /** The person's own standard uncertainty, hours; absent: the rule for the unit. */
  standardHours: z.number().nonnegative().max(100_000).nullable().optional(),
  groove: grooveSchema.nullable().optional(),
});

/** What was set on the arm; each only where somebody read it. Forces in millinewtons (1 gram-force = 9.80665 mN). */
export const setUpSchema = z.object({
  trackingForceMn: z.number().nonnegative().max(500).nullable(),
  /** Anti-skating as a force, or as the number on its dial, which is no force. */
  antiSkatingMn: z.number().nonnegative().max(500).nullable(),
  antiSkatingDial: z.number().nonnegative().max(100).nullable(),
  overhangMm: z.number().min(-100).max(100).nullable(),
  offsetDeg: z.number().min(-90).max(90).nullable(),
  azimuthDeg: z.number().min(-45).max(45).nullable(),
  verticalAngleDeg: z.number().min(-45).max(90).nullable(),
});
export type SetUp = z.infer<typeof setUpSchema>;

/** So much a week from a day on; fills only weeks in which nothing was logged, and always counts as an estimate. */
export const habitDraftSchema = z.object({
  stylusId: idSchema,
  startDate: dateSchema,
  /** Last day; null: goes on. */
  endDate: dateSchema.nullable(),
  amount: z.number().positive().max(10_000),
  unit: z.enum(PLAY_UNITS),
  minutesPerSide: z.number().positive().max(120),
  sidesPerEvening: z.number().positive().max(50),
  hoursPerWeek: z.number().nonnegative().max(168),
  text: text(20_000),
});
export type HabitDraft = z.infer<typeof habitDraftSchema>;
export const habitSchema = habitDraftSchema.extend({
  id: idSchema,
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
});
export type Habit = z.infer<typeof habitSchema>;

export const entryDraftSchema = z.object({
  stylusId: idSchema,
  kind: entryKindSchema,
  date: daySchema,
  played: playedSchema.nullable(),
  /** Typed values of a set-up change. */
  setUp: setUpSchema.nullable().optional(),
  /** What was heard, for a listening check. */
  listening: listeningSchema.nullable().optional(),
  /** What a pair of pictures before and after a cleaning says. */
  cleaned: cleanedSchema.nullable().optional(),
  text: text(20_000),
});
export type EntryDraft = z.infer<typeof entryDraftSchema>;
export const entrySchema = entryDraftSchema.extend({
  id: idSchema,
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
});
export type Entry = z.infer<typeof entrySchema>;

/** One stylus with everything on it, bin excluded. Sorted by date, oldest first; undated captures last. */
export const stylusPageSchema = z.object({
  stylus: stylusSchema,
  captures: z.array(captureSchema),
  comparisons: z.array(comparisonSchema),
  entries: z.array(entrySchema),
  /** Rejected ones too: they say where nothing is to be offered again. Oldest first. */
  marks: z.array(markSchema),
  habits: z.array(habitSchema),
  /** Baselines of unworn styluses of the same type, which may stand in for one of this stylus. */
  siblings: z.array(captureSchema),
  /** Hours on the stylus now; null = unknown history. */
  hoursNow: z.number().nullable(),
  /** Names this state of the page to the host for a while; see stylus.open. */
  state: z.string().optional(),
});
export type StylusPage = z.infer<typeof stylusPageSchema>;

/** What follows in the page's three long lists; each goes on where the piece before ended. */
export const stylusPieceSchema = stylusPageSchema.pick({ captures: true, comparisons: true, entries: true });
export type StylusPiece = z.infer<typeof stylusPieceSchema>;
/** A page with the first rows of its lists and the number of pieces in which the others can be had. */
export const stylusOpeningSchema = stylusPageSchema.extend({
  state: z.string(),
  pieces: z.number().int().nonnegative(),
});
export type StylusOpening = z.infer<typeof stylusOpeningSchema>;

const pieceSchema = <T extends z.ZodType>(member: T) =>
  z.object({
    first: z.number().int().nonnegative(),
    last: z.number().int().nonnegative(),
    between: z.array(member),
  });
/** A page told by what became different; the three long lists in pieces (pieces.ts). */
export const stylusChangeSchema = stylusPageSchema.extend({
  captures: pieceSchema(captureSchema),
  comparisons: pieceSchema(comparisonSchema),
  entries: pieceSchema(entrySchema),
});
export type StylusChange = z.infer<typeof stylusChangeSchema>;

export const stylusCardSchema = z.object({
  stylus: stylusSchema,
  captureCount: z.number().int(),
  hoursNow: z.number().nullable(),
  lastCapture: datedSchema.nullable(),
  /** The uncertainties say to how many digits the widths are shown. */
  lastFlats: z
    .object({
      leftUm: z.number(),
      leftExpandedUm: z.number(),
      rightUm: z.number(),
      rightExpandedUm: z.number(),
      unit: z.string(),
    })
    .nullable(),
  coverCaptureId: idSchema.nullable(),
  /** Confirmed damage that ends playing, each kind once. */
  confirmed: z.array(markKindSchema),
});
export type StylusCard = z.infer<typeof stylusCardSchema>;

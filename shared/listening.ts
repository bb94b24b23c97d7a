import { z } from 'zod';
import { daySchema } from './dates.ts';
import { measuredSchema, warningSchema } from './report.ts';

/** Listening checks, what a recording can tell, and other causes to rule out before the stylus is blamed. */

const text = (max: number) => z.string().trim().max(max);
/** As in collection.ts, which takes its part of an entry from here. */
const idSchema = z.string().regex(/^[0-9a-z]{8,40}$/);
const day = daySchema;

export const SOUND_REASONS = [
  'unreadable-sound',
  'too-short',
  'too-quiet',
  'tone-not-found',
  'passages-differ',
  'timed-out',
  'failed',
] as const;
const soundReasonSchema = z.object({ code: z.enum(SOUND_REASONS), message: z.string() });
export type SoundReason = z.infer<typeof soundReasonSchema>;

/** A harmonic's level as a share of the fundamental, in per cent. */
const harmonicSchema = z.object({
  order: z.number().int().min(2).max(5),
  percent: measuredSchema,
  detected: z.boolean(),
  /** Below this the recording's own noise and the window's leakage hide it, per cent. */
  limitPercent: z.number().nonnegative(),
});
const toneChannelSchema = z.object({
  name: z.enum(['left', 'right', 'mono']),
  /** Level of the fundamental, dB relative to a sine of full scale. */
  levelDb: measuredSchema,
  harmonics: z.array(harmonicSchema),
  /** Root of the sum of the squares of the 2nd to 5th harmonic, per cent of the fundamental. */
  thdPercent: measuredSchema,
  thdDetected: z.boolean(),
  thdLimitPercent: z.number().nonnegative(),
});
export type ToneChannel = z.infer<typeof toneChannelSchema>;

export const toneResultSchema = z.object({
  kind: z.literal('tone'),
  nominalHz: z.number().positive(),
  frequencyHz: z.number().positive(),
  speedErrorPercent: z.number(),
  /** Root mean square of the instantaneous frequency about its mean, unweighted, per cent. */
  wowPercent: z.number().nonnegative(),
  usedSeconds: z.number().positive(),
  segments: z.number().int().min(2),
  window: z.string(),
  channels: z.array(toneChannelSchema).min(1).max(2),
  /** Left over right, dB, when the tone is on both channels. */
  balanceDb: measuredSchema.nullable(),
  /** How far the other channel lies below the driven one, dB, when the tone is on one channel. */
  separationDb: z
    .object({ driven: z.enum(['left', 'right']), value: measuredSchema, atLeast: z.boolean() })
    .nullable(),
  warnings: z.array(warningSchema),
});
export type ToneResult = z.infer<typeof toneResultSchema>;

const bandChangeSchema = z.object({
  centreHz: z.number().positive(),
  /** Level now minus level then in this third of an octave, against the reference band, dB. */
  changeDb: measuredSchema,
});
export const passageResultSchema = z.object({
  kind: z.literal('passage'),
  /** How much faster the later recording runs, per cent. */
  speedDifferencePercent: z.number(),
  offsetSeconds: z.number(),
  overlapSeconds: z.number().positive(),
  /** What is left between the two after the alignment: root mean square over short pieces, microseconds. */
  residualUs: z.number().nonnegative(),
  residualSamples: z.number().nonnegative(),
  /** Correlation of the two after alignment, 0..1. */
  likeness: z.number(),
  referenceHz: z.tuple([z.number(), z.number()]),
  segments: z.number().int().min(2),
  channels: z.array(
    z.object({
      name: z.enum(['left', 'right', 'mono']),
      bands: z.array(bandChangeSchema),
      /** Everything from 5 kHz up to the last band. */
      above5kDb: measuredSchema,
    }),
  ),
  /** For drawing: [Hz, then dB, now dB], third octaves of all channels together, relative to the reference band. */
  spectra: z.array(z.tuple([z.number(), z.number(), z.number()])),
  warnings: z.array(warningSchema),
});
export type PassageResult = z.infer<typeof passageResultSchema>;

const refusedSchema = z.object({ ok: z.literal(false), reason: soundReasonSchema });
export const toneReportSchema = z.union([
  z.object({ ok: z.literal(true), value: toneResultSchema }),
  refusedSchema,
]);
export type ToneReport = z.infer<typeof toneReportSchema>;
export const passageReportSchema = z.union([
  z.object({ ok: z.literal(true), value: passageResultSchema }),
  refusedSchema,
]);
export type PassageReport = z.infer<typeof passageReportSchema>;

/** What an ear is asked to listen for. */
export const SYMPTOMS = [
  'splashy-sibilants',
  'grain-when-loud',
  'one-channel',
  'inner-grooves',
  'new-mistracking',
] as const;
export const symptomSchema = z.enum(SYMPTOMS);
export type Symptom = z.infer<typeof symptomSchema>;

/** A passage or a test band that the person knows well: the same one every time. */
export const passageDraftSchema = z.object({
  kind: z.enum(['passage', 'tone']),
  name: text(200).min(1),
  /** Record, side, minute, in the person's own words. */
  place: text(500),
  groove: z.enum(['outer', 'middle', 'inner', 'unknown']),
  /** For a test band: its frequency and the channels it was cut on. */
  toneHz: z.number().min(20).max(20_000).nullable(),
  cutOn: z.enum(['both', 'left', 'right']),
  notes: text(5000),
});
export type PassageDraft = z.infer<typeof passageDraftSchema>;
export const passageSchema = passageDraftSchema.extend({
  id: idSchema,
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
});
export type Passage = z.infer<typeof passageSchema>;

export const CLEANING_MOMENTS = ['before', 'after', 'none'] as const;
export const HEARD = ['not-heard', 'as-before', 'new', 'worse', 'better', 'not-listened'] as const;
/** What was heard on one day, kept with a timeline entry of the kind `listening`. */
export const listeningSchema = z.object({
  cleaning: z.enum(CLEANING_MOMENTS),
  passageIds: z.array(idSchema).max(50),
  heard: z.array(z.object({ symptom: symptomSchema, answer: z.enum(HEARD), channel: text(40) })).max(20),
  verdict: z.enum(['same', 'better', 'worse', 'unsure']),
});
export type ListeningCheck = z.infer<typeof listeningSchema>;

/** A sound file that was offered and read, but is not in the collection yet. */
export const soundOfferedSchema = z.object({
  token: z.string(),
  fileName: z.string(),
  sha256: z.string(),
  sampleRate: z.number().int().positive(),
  channelCount: z.number().int().min(1).max(2),
  bits: z.number().int().positive(),
  float: z.boolean(),
  seconds: z.number().positive(),
  /** Largest sample, dB relative to full scale. */
  peakDb: z.number(),
  warnings: z.array(z.string()),
});
export type SoundOffered = z.infer<typeof soundOfferedSchema>;

export const recordingFactsSchema = z.object({
  stylusId: idSchema,
  passageId: idSchema,
  recordedOn: day,
  cleaning: z.enum(CLEANING_MOMENTS),
  notes: text(5000),
});
export const recordingSchema = recordingFactsSchema.extend({
  id: idSchema,
  sha256: z.string(),
  fileName: z.string(),
  sampleRate: z.number().int().positive(),
  channelCount: z.number().int().min(1).max(2),
  bits: z.number().int().positive(),
  float: z.boolean(),
  seconds: z.number().positive(),
  /** What was measured on it, for a test band. */
  tone: toneReportSchema.nullable(),
  engineVersion: z.string().nullable(),
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
});
export type Recording = z.infer<typeof recordingSchema>;

/** Two recordings of one passage laid over each other. */
export const soundComparisonSchema = z.object({
  id: idSchema,
  stylusId: idSchema,
  earlierId: idSchema,
  laterId: idSchema,
  report: passageReportSchema,
  engineVersion: z.string(),
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
});
export type SoundComparison = z.infer<typeof soundComparisonSchema>;

/** Other causes of what is heard or seen, in the order in which they are cheap to check (practice). */
export const CAUSES = ['dirt', 'alignment', 'tracking-force', 'anti-skating', 'azimuth', 'record'] as const;
export const causeSchema = z.enum(CAUSES);
export type Cause = z.infer<typeof causeSchema>;
/** `found`: it is out of order and still is; `put-right`: it was, and was corrected. */
export const CAUSE_ANSWERS = ['not-checked', 'in-order', 'found', 'put-right'] as const;
export const causeAnswerSchema = z.object({
  cause: causeSchema,
  answer: z.enum(CAUSE_ANSWERS),
  /** The day it was checked; null with 'not-checked'. */
  date: day.nullable(),
  note: text(2000),
});
export type CauseAnswer = z.infer<typeof causeAnswerSchema>;

/** Recordings of one test band on one day together; `count` takes, each with the needle put down anew. */
export const toneTakeSchema = z.object({
  passageId: idSchema,
  recordedOn: day,
  cleaning: z.enum(CLEANING_MOMENTS),
  count: z.number().int().min(1),
  channels: z.array(z.object({ name: z.enum(['left', 'right', 'mono']), thdPercent: measuredSchema })),
});
export type ToneTake = z.infer<typeof toneTakeSchema>;

/** Everything about listening that belongs to one stylus; passages belong to all of them. */
export const listeningPageSchema = z.object({
  passages: z.array(passageSchema),
  recordings: z.array(recordingSchema),
  comparisons: z.array(soundComparisonSchema),
  takes: z.array(toneTakeSchema),
  /** One for each cause, in their order. */
  causes: z.array(causeAnswerSchema),
});
export type ListeningPage = z.infer<typeof listeningPageSchema>;

import { z } from 'zod';
import { idSchema } from './collection.ts';
import { measuredSchema, warningSchema } from './report.ts';

/** Listening checks, what a recording can tell, and other causes to rule out before the stylus is blamed. */

const text = (max: number) => z.string().trim().max(max);
const day = z.string().regex(/^\d{4}-\d{2}-\d{2}$/);

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

export { day as daySchema, text as textSchema, idSchema as listeningIdSchema };

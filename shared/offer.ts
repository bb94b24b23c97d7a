import { z } from 'zod';
import { daySchema } from './dates.ts';
import { captureSchema, idSchema } from './collection.ts';

/** A used turntable on offer: what was looked at, at the seller's table, without any earlier picture. */
const text = (max: number) => z.string().trim().max(max);
const money = z.number().nonnegative().max(1e7).nullable();

/** In the order of a walk around the deck: nothing is plugged in before the first two are done. */
export const DECK_PARTS = [
  'lead-and-plug',
  'voltage',
  'platter',
  'bearing',
  'drive',
  'suspension',
  'arm',
  'arm-bearings',
  'lift',
  'cartridge',
  'speed',
  'sound',
] as const;
export const deckPartSchema = z.enum(DECK_PARTS);
export type DeckPart = z.infer<typeof deckPartSchema>;
export const DECK_ANSWERS = ['not-done', 'in-order', 'doubtful', 'faulty', 'not-there'] as const;

export const STATEMENTS = ['hours', 'stylus-age', 'serviced', 'original-parts', 'works', 'other'] as const;
export const VERDICTS = ['open', 'borne-out', 'contradicted', 'cannot-tell'] as const;

export const offerDraftSchema = z.object({
  /** Deck and cartridge in the person's own words. */
  title: text(200).min(1),
  day: daySchema,
  seller: text(200),
  cartridge: text(200),
  price: money,
  currency: text(8),
  checks: z.array(z.object({ part: deckPartSchema, answer: z.enum(DECK_ANSWERS), note: text(500) })).max(30),
  statements: z
    .array(
      z.object({
        about: z.enum(STATEMENTS),
        said: text(500),
        finding: text(500),
        verdict: z.enum(VERDICTS),
      }),
    )
    .max(30),
  /** What it will cost to put right, beside the price: the new stylus first. */
  costs: z.array(z.object({ what: text(200), amount: money })).max(30),
  notes: text(5000),
});
export type OfferDraft = z.infer<typeof offerDraftSchema>;

export const offerSchema = offerDraftSchema.extend({
  id: idSchema,
  /** The stylus that came with it; its pictures hang there, its history is unknown. */
  stylusId: idSchema,
  createdAt: z.string(),
  binnedAt: z.string().nullable(),
});
export type Offer = z.infer<typeof offerSchema>;
export const offerPageSchema = z.object({ offer: offerSchema, captures: z.array(captureSchema) });
export type OfferPage = z.infer<typeof offerPageSchema>;

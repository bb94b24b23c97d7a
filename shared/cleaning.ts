import { z } from 'zod';

/**
 * What a pair of pictures before and after cleaning says. 'stays' is a finding of its own; 'new': something sits there that
 * was not there before; 'none': no residue in either; 'cannot-tell': one of the pictures gave no answer.
 */
export const residueFateSchema = z.enum(['gone', 'stays', 'new', 'none', 'cannot-tell']);
export type ResidueFate = z.infer<typeof residueFateSchema>;

/** Ids are checked by their shape only: what lies in the bin is still named. */
const id = z.string().regex(/^[0-9a-z]{8,40}$/);
const seen = z.object({ angleDeg: z.number(), sizeUm: z.number(), depthUm: z.number() });

export const cleanedSchema = z.object({
  beforeId: id,
  afterId: id,
  residue: residueFateSchema,
  /** A sentence for the person. */
  message: z.string().max(2000),
  before: z.array(seen).max(50),
  after: z.array(seen).max(50),
  /** 'um', or per cent of the shank's width where no scale is known. */
  unit: z.enum(['um', 'percent-of-shank']),
});
export type Cleaned = z.infer<typeof cleanedSchema>;

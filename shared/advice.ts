import { z } from 'zod';

/** Evidence in, advice out: what can be said about a stylus, and every rule that it rests on. */
export const adviceOutcomeSchema = z.enum([
  'take-off',
  'order-one',
  'clean-and-look',
  'check-set-up',
  'cannot-tell',
  'play-on',
]);
export const adviceStepSchema = z.object({
  rule: z.string(),
  /** 'unknown': something that the rule needs is not known. */
  state: z.enum(['speaks', 'silent', 'unknown']),
  outcome: adviceOutcomeSchema,
  sentence: z.string(),
  inputs: z.array(z.object({ name: z.string(), value: z.string() })),
  /** Geometry, practice, the person's own setting: nothing else. */
  source: z.string(),
});
export const givenAdviceSchema = z.object({
  outcome: adviceOutcomeSchema,
  sentence: z.string(),
  /** The wall that wears more, in the picture; and by its place in the groove where the camera's mirroring is known. */
  wall: z.enum(['left', 'right']).nullable(),
  wallInGroove: z.object({ side: z.enum(['inner', 'outer']), channel: z.enum(['left', 'right']) }).nullable(),
  look: z.object({ date: z.string(), overdue: z.boolean(), why: z.string() }),
  steps: z.array(adviceStepSchema),
  unknown: z.array(z.string()),
  ruleOutFirst: z.array(z.string()),
});
export type GivenAdvice = z.infer<typeof givenAdviceSchema>;

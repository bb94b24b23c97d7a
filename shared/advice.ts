import { z } from 'zod';

/** Evidence in, advice out: what can be said about a stylus, and every rule that it rests on. */
export const adviceOutcomeSchema = z.enum([
  'take-off',
  'look-again',
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
export type AdviceStep = GivenAdvice['steps'][number];

/**
 * What the advice rests on, its own reasons first. That nothing else ends playing is no reason beside something that
 * does: "play on" under "take it off now" would be read as a second opinion.
 */
export function reasonsOf(advice: Pick<GivenAdvice, 'outcome' | 'steps'>): readonly AdviceStep[] {
  const { outcome, steps } = advice;
  return steps
    .filter((step) => step.state === 'speaks')
    .filter((step) => step.outcome !== 'play-on' || outcome === 'play-on' || outcome === 'cannot-tell')
    .toSorted((a, b) => Number(b.outcome === outcome) - Number(a.outcome === outcome));
}

/** "No answer" is a value with a reason; misuse is a throw. Errors that cross processes have one shape. */
export const REASON_CODES = [
  'unreadable-image',
  'tip-not-found',
  'tip-outside-frame',
  'cantilever-not-found',
  'too-blurred',
  'too-coarse',
  'over-exposed',
  'not-the-same-part',
  'views-differ',
  'pose-differs',
  'registration-failed',
  'scale-missing',
  'timed-out',
  'failed',
] as const;
export type ReasonCode = (typeof REASON_CODES)[number];

/** Code for programs; the sentence says what happened and what to do next. */
export type Reason = { readonly code: ReasonCode; readonly message: string };
export type Outcome<T> =
  { readonly ok: true; readonly value: T } | { readonly ok: false; readonly reason: Reason };

export const answer = <T>(value: T): Outcome<T> => ({ ok: true, value });
export const refuse = (
  code: ReasonCode,
  message: string,
): { readonly ok: false; readonly reason: Reason } => ({
  ok: false,
  reason: { code, message },
});

/** Raised inside a computation when the person cancelled; never shown as an error. */
export class Cancelled extends Error {
  override name = 'Cancelled';
}

/** A failure that a person may read: a plain sentence. `code` is for programs. */
export class Refusal extends Error {
  override name = 'Refusal';
  readonly code: string;
  constructor(code: string, message: string) {
    super(message);
    this.code = code;
  }
}

/**
 * Value and uncertainty rounded together (JCGM 100:2008, 7.2.6): at most two significant digits of the uncertainty,
 * the value to the same place. For screens and paper only; stored data keep full precision.
 */
export type Rounded = {
  readonly value: string;
  readonly expanded: string;
  /** Digits after the decimal point of both; negative when tens or hundreds were rounded. */
  readonly decimals: number;
};

/** toFixed knows at most 100 decimals; nothing here needs more than this. */
const MAX_DECIMALS = 15;
const DIGITS = 2;

/** Decimals that leave `digits` significant digits of `x`, after the rounding itself (0.0996 -> 0.10, not 0.100). */
function decimalsFor(x: number, digits: number): number {
  const exponent = Number(x.toExponential(digits - 1).split('e')[1]);
  return Math.min(MAX_DECIMALS, digits - 1 - exponent);
}

/** Rounds at a decimal place (negative: tens, hundreds), never "-0". */
function fixed(x: number, decimals: number): string {
  if (decimals >= 0) return positiveZero(roundHalfAway(x, decimals).toFixed(decimals));
  const unit = 10 ** -decimals;
  return positiveZero((Math.round(x / unit) * unit).toFixed(0));
}

/** 0.125 -> 0.13 and 2.675 -> 2.68: rounded as the decimal figures read, not as their binary neighbours lie. */
function roundHalfAway(x: number, decimals: number): number {
  const shifted = Number(`${Math.abs(x)}e${decimals}`);
  if (!Number.isFinite(shifted) || shifted > Number.MAX_SAFE_INTEGER) return x;
  return Math.sign(x) * Number(`${Math.round(shifted)}e${-decimals}`);
}

const positiveZero = (text: string): string => (/^-0(\.0*)?$/.test(text) ? text.slice(1) : text);

/**
 * The figures to show for `value` with expanded uncertainty `expanded`. Without a positive, finite uncertainty the
 * value keeps four significant digits and no uncertainty is claimed (an empty string).
 */
export function roundTogether(value: number, expanded: number): Rounded {
  if (!Number.isFinite(value)) return { value: String(value), expanded: '', decimals: 0 };
  if (!(expanded > 0) || !Number.isFinite(expanded)) {
    const decimals = value === 0 ? 0 : decimalsFor(Math.abs(value), 4);
    return { value: fixed(value, decimals), expanded: '', decimals };
  }
  const decimals = decimalsFor(expanded, DIGITS);
  return { value: fixed(value, decimals), expanded: fixed(expanded, decimals), decimals };
}

/**
 * A limit for "not detected, below ...": rounded upwards to two significant digits (one from 10 on would be coarse),
 * so that the sentence stays true.
 */
export function roundLimitUp(limit: number): string {
  if (!(limit > 0) || !Number.isFinite(limit)) return String(limit);
  const decimals = decimalsFor(limit, DIGITS);
  const shifted = Number(`${limit}e${decimals}`);
  // A limit that already has two digits must not jump a step because of its binary neighbour.
  const up = Number(`${Math.ceil(shifted - 1e-9)}e${-decimals}`);
  return fixed(up, decimalsFor(up, DIGITS));
}

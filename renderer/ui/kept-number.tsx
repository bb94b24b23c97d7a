import { useEffect, useState } from 'react';
import { editable, NBSP, parseNumber } from '../format.ts';
import { NumberField } from './fields.tsx';

type Range = { readonly min: number; readonly max: number; readonly symbol: string };
type Props = {
  readonly label: string;
  readonly hint?: string;
  readonly suffix?: string;
  readonly value: number;
  readonly min: number;
  readonly max: number;
  readonly onChange: (value: number) => void;
};

/** The number that a text means, where it may be taken. */
export function takenNumber(text: string, { min, max }: Range): number | null {
  const value = parseNumber(text);
  return value !== null && value >= min && value <= max ? value : null;
}

/** Why a text is not taken, and what counts instead; null when it is taken. */
export function notTaken(text: string, counts: number, range: Range): string | null {
  if (takenNumber(text, range) !== null) return null;
  const value = parseNumber(text);
  const words = (number: number): string =>
    range.symbol === '' ? editable(number) : `${editable(number)}${NBSP}${range.symbol}`;
  const wrong =
    value === null
      ? 'Write one number, such as 3 or 2,5.'
      : value > range.max
        ? `${words(range.max)} at the most.`
        : `${words(range.min)} at the least.`;
  return `${wrong} Until then it stays at ${words(counts)}.`;
}

/**
 * A number that takes effect while it is typed, in a form without a button to save it. What is not taken stays as it was
 * typed, with the reason beside it once the field is left (at once where it is too large already).
 */
export function KeptNumberField({ value, min, max, onChange, suffix = '', ...field }: Props) {
  const [draft, setDraft] = useState<string | null>(null);
  const [left, setLeft] = useState(false);
  const range: Range = { min, max, symbol: suffix };
  const typed = draft === null ? null : takenNumber(draft, range);
  const tooLarge = draft !== null && (parseNumber(draft) ?? 0) > max;
  // Typed or, where another field moved the limits, allowed by now.
  useEffect(() => {
    if (typed !== null && typed !== value) onChange(typed);
  });
  return (
    <NumberField
      {...field}
      {...(suffix === '' ? {} : { suffix })}
      value={draft ?? editable(value)}
      error={draft !== null && (left || tooLarge) ? notTaken(draft, value, range) : null}
      onChange={(text) => {
        setDraft(text);
        setLeft(false);
      }}
      onBlur={() => {
        setLeft(true);
        if (typed !== null) setDraft(null);
      }}
    />
  );
}

import { PLAY_UNITS } from '../../shared/index.ts';
import { editable, parseNumber } from '../format.ts';
import { toHours, type Played } from '../state/hours.ts';
import { ChoiceField, NumberField } from '../ui/fields.tsx';
import { PLAY_UNIT_WORDS } from '../words.ts';

/** An amount of playing time in the person's unit: as text, as numbers, as fields. Used for entries and for habits. */
export type AmountText = {
  readonly amount: string;
  readonly unit: Played['unit'];
  readonly perSide: string;
  readonly perEvening: string;
};
export type Amount = {
  readonly amount: number;
  readonly unit: Played['unit'];
  readonly minutesPerSide: number;
  readonly sidesPerEvening: number;
  readonly hours: number;
};
export type AmountErrors = {
  readonly amount: string | null;
  readonly perSide: string | null;
  readonly perEvening: string | null;
};

const UNITS = PLAY_UNITS.map((value) => ({ value, label: PLAY_UNIT_WORDS[value] }));

/** Null, or the sentence that says what is wrong with the number. */
export function amountError(text: string, max: number): string | null {
  const value = parseNumber(text);
  if (value === null || value <= 0) return 'Write one number above 0, such as 3 or 2,5.';
  return value > max ? `More than ${max} cannot be right.` : null;
}

export const amountText = (
  from: {
    amount: number;
    unit: Played['unit'];
    minutesPerSide: number;
    sidesPerEvening?: number | null | undefined;
  } | null,
  usual: { minutesPerSide: number; sidesPerEvening: number },
): AmountText => ({
  amount: editable(from?.amount ?? null),
  unit: from?.unit ?? 'records',
  perSide: editable(from?.minutesPerSide ?? usual.minutesPerSide),
  perEvening: editable(from?.sidesPerEvening ?? usual.sidesPerEvening),
});

export const bySides = (unit: Played['unit']): boolean =>
  unit === 'sides' || unit === 'records' || unit === 'evenings';

export function readAmountText(
  text: AmountText,
  usual: { minutesPerSide: number; sidesPerEvening: number },
): { readonly amount: Amount | null; readonly errors: AmountErrors } {
  const errors = {
    amount: amountError(text.amount, 100_000),
    perSide: bySides(text.unit) ? amountError(text.perSide, 120) : null,
    perEvening: text.unit === 'evenings' ? amountError(text.perEvening, 50) : null,
  };
  if (errors.amount !== null || errors.perSide !== null || errors.perEvening !== null)
    return { amount: null, errors };
  const amount = parseNumber(text.amount) ?? 0;
  const minutesPerSide = parseNumber(text.perSide) ?? usual.minutesPerSide;
  const sidesPerEvening = parseNumber(text.perEvening) ?? usual.sidesPerEvening;
  const hours = toHours(amount, text.unit, minutesPerSide, sidesPerEvening);
  return { amount: { amount, unit: text.unit, minutesPerSide, sidesPerEvening, hours }, errors };
}

export function AmountFields(props: {
  readonly text: AmountText;
  readonly errors: AmountErrors | null;
  readonly label: string;
  readonly change: (part: Partial<AmountText>) => void;
}) {
  const { text, errors, label, change } = props;
  return (
    <>
      <NumberField
        label={label}
        value={text.amount}
        onChange={(amount) => change({ amount })}
        error={errors?.amount ?? null}
      />
      <ChoiceField label="In" value={text.unit} choices={UNITS} onChange={(unit) => change({ unit })} />
      {text.unit === 'evenings' && (
        <NumberField
          label="Sides an evening"
          hint="What an evening usually is; always counted as an estimate"
          value={text.perEvening}
          error={errors?.perEvening ?? null}
          onChange={(perEvening) => change({ perEvening })}
        />
      )}
      {bySides(text.unit) && (
        <NumberField
          label="Minutes a side"
          hint="Two sides make a record; 22 if you do not know"
          suffix="min"
          value={text.perSide}
          error={errors?.perSide ?? null}
          onChange={(perSide) => change({ perSide })}
        />
      )}
    </>
  );
}

import { useId, useState, type InputHTMLAttributes, type ReactNode } from 'react';
import { editable, parseNumber } from '../format.ts';
import { useLimit } from './limit.ts';

type FieldProps = {
  readonly label: string;
  readonly hint?: ReactNode;
  readonly error?: string | null | undefined;
  readonly wide?: boolean;
};

/** Label, control, hint and error, tied together for eyes and ears alike. */
function Field(
  props: FieldProps & {
    readonly id: string;
    /** What the field itself has to say, beside what the form says of it. */
    readonly said?: string | null;
    readonly children: (described: { 'aria-describedby'?: string; 'aria-invalid'?: true }) => ReactNode;
  },
) {
  const { label, hint, error, wide = false, said = null, id, children } = props;
  const hintId = hint ? `${id}-hint` : '';
  const errorId = error ? `${id}-error` : '';
  const saidId = said === null ? '' : `${id}-said`;
  const described = [hintId, saidId, errorId].filter((one) => one !== '').join(' ');
  return (
    <div className={wide ? 'field field-wide' : 'field'}>
      <label htmlFor={id}>{label}</label>
      {children({
        ...(described === '' ? {} : { 'aria-describedby': described }),
        ...(error ? { 'aria-invalid': true as const } : {}),
      })}
      {hint && (
        <p className="hint" id={hintId}>
          {hint}
        </p>
      )}
      {said !== null && (
        <p className="field-error" id={saidId} role="status">
          {said}
        </p>
      )}
      {error && (
        <p className="field-error" id={errorId}>
          {error}
        </p>
      )}
    </div>
  );
}

type TextFieldProps = FieldProps & {
  readonly value: string;
  readonly onChange: (value: string) => void;
  readonly type?: 'text' | 'date' | 'time';
  readonly suffix?: string;
} & Pick<
    InputHTMLAttributes<HTMLInputElement>,
    'autoFocus' | 'list' | 'placeholder' | 'maxLength' | 'inputMode' | 'onBlur'
  >;

export function TextField({ value, onChange, type = 'text', suffix, ...rest }: TextFieldProps) {
  const id = useId();
  const { label, hint, error, wide, maxLength, ...input } = rest;
  const { said, limits } = useLimit(value, maxLength);
  return (
    <Field id={id} label={label} hint={hint} error={error} said={said} {...(wide ? { wide } : {})}>
      {(described) => (
        <span className="input-row">
          <input
            id={id}
            type={type}
            value={value}
            onChange={(event) => onChange(event.target.value)}
            autoComplete="off"
            {...input}
            {...limits}
            {...described}
          />
          {suffix !== undefined && <span className="suffix">{suffix}</span>}
        </span>
      )}
    </Field>
  );
}

/** A number as text: comma or point, checked by the form, never by the browser's own idea of a locale. */
export function NumberField(props: Omit<TextFieldProps, 'type' | 'inputMode'>) {
  return <TextField {...props} inputMode="decimal" />;
}

/**
 * A number that takes effect while it is typed. What is not yet a number in range ("-", "12,", the 1 of 110) stays as it
 * is typed until the field is left; what is too large already is refused at once.
 */
export function LiveNumberField({
  value,
  onChange,
  min = -Infinity,
  max = Infinity,
  ...field
}: FieldProps & {
  readonly value: number | null;
  readonly onChange: (value: number) => void;
  readonly min?: number;
  readonly max?: number;
  readonly suffix?: string;
}) {
  const [draft, setDraft] = useState<string | null>(null);
  const type = (text: string): void => {
    const next = parseNumber(text);
    setDraft(next !== null && next > max ? null : text);
    if (next !== null && next >= min && next <= max) onChange(next);
  };
  return (
    <NumberField {...field} value={draft ?? editable(value)} onChange={type} onBlur={() => setDraft(null)} />
  );
}

export function LongField({
  value,
  onChange,
  rows = 3,
  ...field
}: FieldProps & { value: string; onChange: (value: string) => void; rows?: number }) {
  const id = useId();
  return (
    <Field id={id} {...field}>
      {(described) => (
        <textarea
          id={id}
          rows={rows}
          value={value}
          onChange={(event) => onChange(event.target.value)}
          {...described}
        />
      )}
    </Field>
  );
}

export type Choice<T extends string> = { readonly value: T; readonly label: string };

export function ChoiceField<T extends string>({
  value,
  choices,
  onChange,
  ...field
}: FieldProps & {
  readonly value: T;
  readonly choices: readonly Choice<T>[];
  readonly onChange: (value: T) => void;
}) {
  const id = useId();
  return (
    <Field id={id} {...field}>
      {(described) => (
        <select id={id} value={value} onChange={(event) => onChange(event.target.value as T)} {...described}>
          {choices.map((choice) => (
            <option key={choice.value} value={choice.value}>
              {choice.label}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
}

export function TickField({
  label,
  about,
  checked,
  onChange,
}: {
  readonly label: string;
  /** What of several alike it is about, for whoever does not see where it stands. */
  readonly about?: string;
  readonly checked: boolean;
  readonly onChange: (checked: boolean) => void;
}) {
  const id = useId();
  return (
    <div className="tick">
      <input id={id} type="checkbox" checked={checked} onChange={(event) => onChange(event.target.checked)} />
      <label htmlFor={id}>
        {label}
        {about !== undefined && <span className="visually-hidden">{`: ${about}`}</span>}
      </label>
    </div>
  );
}

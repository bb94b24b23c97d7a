import { useId } from 'react';
import type { Answers, Guessed, IntakeRow, RowErrors } from './intake.ts';

/** One answer of a row in the table of files: a choice, or the day. */
export type StylusChoice = { readonly value: string; readonly label: string };

export function CellChoice(props: {
  readonly label: string;
  readonly row: IntakeRow;
  readonly value: string;
  readonly choices: readonly StylusChoice[];
  readonly guess: Guessed['view'];
  readonly error: string | null;
  readonly onChange: (value: string) => void;
}) {
  const { label, row, value, choices, guess, error, onChange } = props;
  const id = useId();
  return (
    <span role="cell" className={guess === undefined ? 'intake-cell' : 'intake-cell intake-guess'}>
      <small className="cell-label" aria-hidden="true">
        {label}
      </small>
      <select
        aria-label={`${label}: ${row.file.name}`}
        aria-describedby={guess === undefined && error === null ? undefined : id}
        aria-invalid={error === null ? undefined : true}
        title={choices.find((choice) => choice.value === value)?.label}
        value={value}
        onChange={(event) => onChange(event.target.value)}
      >
        {value === '' && <option value="">choose…</option>}
        {choices.map((choice) => (
          <option key={choice.value} value={choice.value}>
            {choice.label}
          </option>
        ))}
      </select>
      {(guess !== undefined || error !== null) && (
        <small id={id} className={error === null ? 'guess-mark' : 'field-error'}>
          {error ?? 'guess'}
        </small>
      )}
    </span>
  );
}

export function CellDate(props: {
  readonly row: IntakeRow;
  readonly errors: RowErrors;
  readonly tried: boolean;
  readonly onChange: (date: Answers['date']) => void;
}) {
  const { row, errors, tried, onChange } = props;
  const { date } = row.answers;
  const error = tried ? errors.date : null;
  return (
    <>
      <small className="cell-label" aria-hidden="true">
        Taken on
      </small>
      <input
        type="date"
        aria-label={`Taken on: ${row.file.name}`}
        aria-invalid={error === null ? undefined : true}
        value={date.unknown ? '' : date.day}
        onChange={(event) => onChange({ ...date, day: event.target.value, unknown: false })}
      />
      {error !== null && (
        <>
          <small className="field-error">{error}</small>
          <button
            type="button"
            className="button button-link"
            onClick={() => onChange({ ...date, day: '', unknown: true })}
          >
            It is unknown
            <span className="visually-hidden">{`: the day of ${row.file.name}`}</span>
          </button>
        </>
      )}
    </>
  );
}

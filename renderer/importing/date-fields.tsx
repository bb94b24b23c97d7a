import { DATE_SOURCE } from '../format.ts';
import { TextField, TickField } from '../ui/fields.tsx';
import type { DateText } from './dates.ts';

export function DateFields(props: {
  readonly date: DateText;
  readonly error: string | null;
  readonly onChange: (date: DateText) => void;
}) {
  const { date, error, onChange } = props;
  const found = date.found !== null && date.found.wall.slice(0, 10) === date.day && !date.unknown;
  return (
    <div className="field">
      <TextField
        label="Taken on"
        type="date"
        value={date.unknown ? '' : date.day}
        hint={dateHint(date, found)}
        error={error}
        onChange={(day) => onChange({ ...date, day, unknown: false })}
      />
      <TickField
        label="Date unknown"
        checked={date.unknown}
        onChange={(unknown) => onChange({ ...date, unknown })}
      />
    </div>
  );
}

export function dateHint(date: DateText, found: boolean): string {
  if (found && date.found !== null) return DATE_SOURCE[date.found.source];
  return date.day === '' ? 'The picture does not say' : 'typed in';
}

import { useState } from 'react';
import { PLAY_UNITS, type Entry } from '../../shared/index.ts';
import { editable, formatHours, parseNumber, today } from '../format.ts';
import { toHours, type Played } from '../state/hours.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { DialogFrame } from '../ui/dialog.tsx';
import { ChoiceField, LongField, NumberField, TextField, TickField } from '../ui/fields.tsx';
import { PLAY_UNIT_WORDS } from '../words.ts';

const UNITS = PLAY_UNITS.map((value) => ({ value, label: PLAY_UNIT_WORDS[value] }));

/** Null, or the sentence that says what is wrong with the number. */
export function amountError(text: string, max: number): string | null {
  const value = parseNumber(text);
  if (value === null || value <= 0) return 'Write one number above 0, such as 3 or 2,5.';
  return value > max ? `More than ${max} cannot be right.` : null;
}

export function PlayingDialog({
  stylusId,
  entry,
}: {
  readonly stylusId: string;
  readonly entry: Entry | null;
}) {
  const { host, attempt, open, set, refresh, say } = useModel();
  const usual = useDaybook((state) => state.settings.minutesPerSide);
  const [amount, setAmount] = useState(editable(entry?.played?.amount ?? null));
  const [unit, setUnit] = useState<Played['unit']>(entry?.played?.unit ?? 'records');
  const [perSide, setPerSide] = useState(editable(entry?.played?.minutesPerSide ?? usual));
  const [date, setDate] = useState(entry?.date ?? today());
  const [estimated, setEstimated] = useState(entry?.played?.estimated ?? false);
  const [text, setText] = useState(entry?.text ?? '');
  const [tried, setTried] = useState(false);
  const bySides = unit === 'sides' || unit === 'records';
  const wrong = {
    amount: amountError(amount, 100_000),
    perSide: bySides ? amountError(perSide, 120) : null,
    date: date === '' ? 'Choose the day.' : null,
  };
  const minutes = parseNumber(perSide) ?? usual;
  const hours = (wrong.amount ?? wrong.perSide) ? null : toHours(parseNumber(amount) ?? 0, unit, minutes);
  const save = async (): Promise<void> => {
    setTried(true);
    if (hours === null || wrong.date !== null) return;
    const played = { amount: parseNumber(amount) ?? 0, unit, minutesPerSide: minutes, hours, estimated };
    const draft = { stylusId, kind: 'playing' as const, date, played, text: text.trim() };
    const saved = await attempt(() =>
      entry === null ? host.call('entry.add', draft) : host.call('entry.update', { id: entry.id, draft }),
    );
    if (saved === null) return;
    if (bySides && entry === null) set({ minutesPerSide: minutes });
    open(null);
    say(`${formatHours(hours)} of playing time saved.`);
    await refresh();
  };
  return (
    <DialogFrame
      title={entry === null ? 'Log playing time' : 'Edit playing time'}
      onClose={() => open(null)}
      foot={
        <>
          <p className="foot-note" role="status">
            {hours === null ? '' : `That is ${formatHours(hours)}`}
          </p>
          <button type="button" className="button" onClick={() => open(null)}>
            Cancel
          </button>
          <button type="submit" form="playing-form" className="button button-main">
            Save
          </button>
        </>
      }
    >
      <form
        id="playing-form"
        className="form"
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          void save();
        }}
      >
        <NumberField
          label="How much"
          value={amount}
          onChange={setAmount}
          error={tried ? wrong.amount : null}
        />
        <ChoiceField label="In" value={unit} choices={UNITS} onChange={setUnit} />
        {bySides && (
          <NumberField
            label="Minutes a side"
            hint="Two sides make a record; 22 if you do not know"
            suffix="min"
            value={perSide}
            error={tried ? wrong.perSide : null}
            onChange={setPerSide}
          />
        )}
        <TextField
          label="Day"
          hint="For a longer time, its last day"
          type="date"
          value={date}
          error={tried ? wrong.date : null}
          onChange={setDate}
        />
        <TickField label="This is an estimate, not counted" checked={estimated} onChange={setEstimated} />
        <LongField label="Note" wide rows={2} value={text} onChange={setText} />
      </form>
    </DialogFrame>
  );
}

import { useState } from 'react';
import type { Entry } from '../../shared/index.ts';
import { editable, formatHours, NBSP, parseNumber, today } from '../format.ts';
import { toRecords, type Played } from '../state/hours.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { playingDays } from '../ui/day.ts';
import { FormDialog } from '../ui/dialog.tsx';
import { LongField, NumberField, TextField, TickField } from '../ui/fields.tsx';
import { AmountFields, amountError, amountText, bySides, readAmountText } from './amount-fields.tsx';
import { GrooveFields, grooveText, readGroove } from './groove-fields.tsx';

export { amountError };

type PlayingProps = { readonly stylusId: string; readonly entry: Entry | null };

export function PlayingDialog({ stylusId, entry }: PlayingProps) {
  const { host, attempt, open, set, refresh, done } = useModel();
  const settings = useDaybook((state) => state.settings);
  const stylus = useDaybook((state) => (state.page?.stylus.id === stylusId ? state.page.stylus : null));
  const usual = { ...settings, minutesPerSide: stylus?.minutesPerSide ?? settings.minutesPerSide };
  const [text, setText] = useState(() => amountText(entry?.played ?? null, usual));
  const [groove, setGroove] = useState(() => grooveText(entry?.played?.groove));
  const [rest, setRest] = useState(() => ({
    date: entry?.date ?? today(),
    from: entry?.played?.from ?? '',
    // Asked as about 95 %, kept as a standard uncertainty.
    giveOrTake: editable(
      typeof entry?.played?.standardHours === 'number' ? 2 * entry.played.standardHours : null,
    ),
    estimated: entry?.played?.estimated ?? false,
    note: entry?.text ?? '',
  }));
  const [tried, setTried] = useState(false);
  const change = (part: Partial<typeof rest>): void => setRest((old) => ({ ...old, ...part }));
  const { amount, errors } = readAmountText(text, usual);
  const records = readGroove(groove);
  const wrong = {
    ...playingDays(rest.date, rest.from, stylus?.startDate ?? null),
    giveOrTake: rest.giveOrTake.trim() === '' ? null : amountError(rest.giveOrTake, 100_000),
  };
  const save = async (): Promise<void> => {
    setTried(true);
    if (amount === null || records.wrong !== null || Object.values(wrong).some((one) => one !== null)) return;
    const own = parseNumber(rest.giveOrTake);
    const played: Played = {
      ...amount,
      estimated: rest.estimated || amount.unit === 'evenings',
      from: rest.from === '' || rest.from === rest.date ? null : rest.from,
      standardHours: own === null ? null : own / 2,
      groove: records.groove,
    };
    const draft = { stylusId, kind: 'playing' as const, date: rest.date, played, text: rest.note.trim() };
    const saved = await attempt(() =>
      entry === null ? host.call('entry.add', draft) : host.call('entry.update', { id: entry.id, draft }),
    );
    if (saved === null) return;
    if (entry === null && bySides(amount.unit)) {
      if ((stylus?.minutesPerSide ?? null) === null) set({ minutesPerSide: amount.minutesPerSide });
      if (amount.unit === 'evenings') set({ sidesPerEvening: amount.sidesPerEvening });
    }
    open(null);
    await done(`${formatHours(amount.hours)} of playing time saved.`);
    await refresh();
  };
  return (
    <FormDialog
      title={entry === null ? 'Log playing time' : 'Edit playing time'}
      onClose={() => open(null)}
      formId="playing-form"
      onSave={save}
      note={
        <p className="foot-note" role="status">
          {amount === null
            ? ''
            : `That is ${formatHours(amount.hours)}, or ${Number(toRecords(amount.hours, amount.minutesPerSide).toPrecision(3))}${NBSP}records`}
        </p>
      }
    >
      <AmountFields
        label="How much"
        text={text}
        errors={tried ? errors : null}
        change={(part) => setText((old) => ({ ...old, ...part }))}
      />
      <TextField
        label="Day"
        hint="For a longer time, its last day"
        type="date"
        value={rest.date}
        error={tried ? wrong.date : null}
        onChange={(date) => change({ date })}
      />
      <TickField
        label="This is an estimate, not counted"
        checked={rest.estimated}
        onChange={(estimated) => change({ estimated })}
      />
      <LongField label="Note" wide rows={2} value={rest.note} onChange={(note) => change({ note })} />
      <details
        className="field-wide more"
        open={rest.from !== '' || rest.giveOrTake !== '' || groove.kind !== 'usual'}
      >
        <summary>A stretch of days, its uncertainty, other records</summary>
        <div className="form">
          <TextField
            label="Since"
            hint="First day, where it was more than one"
            type="date"
            value={rest.from}
            error={tried ? wrong.from : null}
            onChange={(from) => change({ from })}
          />
          <NumberField
            label="Give or take"
            hint="About 95 %. Empty: 10 % of sides and records, 4 % of hours, 40 % of estimates (own rules, no source)"
            suffix="h"
            value={rest.giveOrTake}
            error={tried ? wrong.giveOrTake : null}
            onChange={(giveOrTake) => change({ giveOrTake })}
          />
          <GrooveFields
            text={groove}
            usual="as usual on this stylus"
            wrong={tried ? records.wrong : null}
            change={(part) => setGroove((old) => ({ ...old, ...part }))}
          />
        </div>
      </details>
    </FormDialog>
  );
}

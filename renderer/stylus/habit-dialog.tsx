import { useState } from 'react';
import { beforeUse, type Habit } from '../../shared/index.ts';
import { formatHours, today } from '../format.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { FormDialog } from '../ui/dialog.tsx';
import { LongField, TextField } from '../ui/fields.tsx';
import { AmountFields, amountText, readAmountText } from './amount-fields.tsx';

/** So much a week, from a day on; an estimate for the weeks in which nobody logs anything. */
export function HabitDialog(props: { readonly stylusId: string; readonly habit: Habit | null }) {
  const { stylusId, habit } = props;
  const { host, attempt, open, refresh, done } = useModel();
  const settings = useDaybook((state) => state.settings);
  const stylus = useDaybook((state) => (state.page?.stylus.id === stylusId ? state.page.stylus : null));
  const usual = { ...settings, minutesPerSide: stylus?.minutesPerSide ?? settings.minutesPerSide };
  const [text, setText] = useState(() => amountText(habit, usual));
  const [rest, setRest] = useState(() => ({
    start: habit?.startDate ?? stylus?.startDate ?? today(),
    end: habit?.endDate ?? '',
    note: habit?.text ?? '',
  }));
  const [tried, setTried] = useState(false);
  const change = (part: Partial<typeof rest>): void => setRest((old) => ({ ...old, ...part }));
  const { amount, errors } = readAmountText(text, usual);
  const tooMuch = amount !== null && amount.hours > 168 ? 'A week has 168 hours.' : null;
  const wrong = {
    start: rest.start === '' ? 'Choose the day it begins.' : beforeUse(rest.start, stylus?.startDate ?? null),
    end: rest.end !== '' && rest.end < rest.start ? 'It ends before it begins.' : null,
  };
  const save = async (): Promise<void> => {
    setTried(true);
    if (amount === null || tooMuch !== null || wrong.start !== null || wrong.end !== null) return;
    const { hours, ...typed } = amount;
    const draft = {
      stylusId,
      ...typed,
      hoursPerWeek: hours,
      startDate: rest.start,
      endDate: rest.end === '' ? null : rest.end,
      text: rest.note.trim(),
    };
    const saved = await attempt(() =>
      habit === null ? host.call('habit.add', draft) : host.call('habit.update', { id: habit.id, draft }),
    );
    if (saved === null) return;
    open(null);
    await done(`A habit of ${formatHours(hours)} a week saved.`);
    await refresh();
  };
  return (
    <FormDialog
      title={habit === null ? 'Weekly habit' : 'Edit weekly habit'}
      onClose={() => open(null)}
      formId="habit-form"
      onSave={save}
      note={
        <p className="foot-note" role="status">
          {amount === null ? '' : `That is ${formatHours(amount.hours)} a week`}
        </p>
      }
      before={
        <p>
          It counts for every week in which nothing is logged, always as an estimate. Logged time takes its
          place: one entry stands for its whole week, a stretch of days for those days.
        </p>
      }
    >
      <AmountFields
        label="How much a week"
        text={text}
        errors={tried ? { ...errors, amount: errors.amount ?? tooMuch } : null}
        change={(part) => setText((old) => ({ ...old, ...part }))}
      />
      <TextField
        label="From"
        type="date"
        value={rest.start}
        error={tried ? wrong.start : null}
        onChange={(start) => change({ start })}
      />
      <TextField
        label="Until"
        hint="Empty: it goes on"
        type="date"
        value={rest.end}
        error={tried ? wrong.end : null}
        onChange={(end) => change({ end })}
      />
      <LongField label="Note" wide rows={2} value={rest.note} onChange={(note) => change({ note })} />
    </FormDialog>
  );
}

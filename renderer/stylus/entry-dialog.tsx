import { useState } from 'react';
import type { Entry, EntryKind } from '../../shared/index.ts';
import { today } from '../format.ts';
import { useModel } from '../state/use.ts';
import { dayError } from '../ui/day.ts';
import { Cautions } from '../ui/bits.tsx';
import { FormDialog } from '../ui/dialog.tsx';
import { ChoiceField, LongField, NumberField, TextField } from '../ui/fields.tsx';
import { CAUTIONS, ENTRY_WORDS } from '../words.ts';
import { inOtherUnit, readSetUp, SET_UP_FIELDS, setUpText, type SetUpText } from './set-up.ts';

const ASK: Readonly<Record<EntryKind, { label: string; hint: string }>> = {
  playing: { label: 'Note', hint: '' },
  cleaning: { label: 'What was done', hint: 'Brush, putty, liquid; and whether something stayed on the tip' },
  listening: {
    label: 'What was heard',
    hint: 'Passage or test tone, left and right. Rule out dirt, alignment, tracking force, anti-skating and the record itself first',
  },
  'set-up': { label: 'What was changed', hint: 'In words: why, and by which gauge or protractor' },
  note: { label: 'Note', hint: '' },
  decision: {
    label: 'What was decided and why',
    hint: 'Play on, clean and look again, check the set-up, order a new one, take it off; or: cannot tell yet',
  },
  replacement: { label: 'What was fitted', hint: '' },
};

type EntryDialogProps = {
  readonly stylusId: string;
  readonly entryKind: EntryKind;
  readonly entry: Entry | null;
};

export function EntryDialog({ stylusId, entryKind, entry }: EntryDialogProps) {
  const { host, attempt, open, refresh, done } = useModel();
  const [date, setDate] = useState(entry?.date ?? today());
  const [text, setText] = useState(entry?.text ?? '');
  const [values, setValues] = useState(() => setUpText(entry?.setUp));
  const [tried, setTried] = useState(false);
  const { setUp, errors } = readSetUp(values);
  const empty = text.trim() === '' && (entryKind !== 'set-up' || setUp === null) && !entry?.cleaned;
  const save = async (): Promise<void> => {
    setTried(true);
    if (dayError(date) !== null || empty || Object.keys(errors).length > 0) return;
    const draft = {
      stylusId,
      kind: entryKind,
      date,
      played: null,
      setUp: entryKind === 'set-up' ? setUp : null,
      // What a pair of pictures said stays with the cleaning while its words are corrected.
      cleaned: entry?.cleaned ?? null,
      text: text.trim(),
    };
    const saved = await attempt(() =>
      entry === null ? host.call('entry.add', draft) : host.call('entry.update', { id: entry.id, draft }),
    );
    if (saved === null) return;
    open(null);
    await done(`${ENTRY_WORDS[entryKind]} saved.`);
    await refresh();
  };
  return (
    <FormDialog
      title={`${entry === null ? 'Add' : 'Edit'}: ${ENTRY_WORDS[entryKind].toLowerCase()}`}
      onClose={() => open(null)}
      formId="entry-form"
      onSave={save}
      before={
        <>
          {entryKind === 'cleaning' && <Cautions title="Before the brush" lines={CAUTIONS.cleaning} />}
          {entryKind === 'set-up' && <Cautions title="Before you touch the deck" lines={CAUTIONS.setUp} />}
        </>
      }
    >
      <TextField
        label="Day"
        type="date"
        value={date}
        error={tried ? dayError(date) : null}
        onChange={setDate}
      />
      {entryKind === 'set-up' && (
        <SetUpFields text={values} errors={tried ? errors : {}} change={setValues} />
      )}
      <LongField
        label={ASK[entryKind].label}
        hint={ASK[entryKind].hint}
        wide
        rows={entryKind === 'set-up' ? 3 : 5}
        value={text}
        error={tried && empty ? EMPTY[entryKind === 'set-up' ? 'set-up' : 'text'] : null}
        onChange={setText}
      />
    </FormDialog>
  );
}

const EMPTY = { text: 'Write a few words.', 'set-up': 'Write a value above or a few words here.' } as const;

function SetUpFields(props: {
  readonly text: SetUpText;
  readonly errors: ReturnType<typeof readSetUp>['errors'];
  readonly change: (text: SetUpText) => void;
}) {
  const { text, errors, change } = props;
  return (
    <>
      <ChoiceField
        label="Forces in"
        value={text.forceUnit}
        choices={[
          { value: 'mN', label: 'millinewtons (mN)' },
          { value: 'g', label: 'grams (9.81 mN each)' },
        ]}
        onChange={(unit) => change(inOtherUnit(text, unit))}
      />
      {SET_UP_FIELDS.map(({ key, label, unit, hint }) => (
        <NumberField
          key={key}
          label={label}
          hint={hint}
          {...(unit === '' ? {} : { suffix: unit === 'mN' ? text.forceUnit : unit })}
          value={text[key]}
          error={errors[key] ?? null}
          onChange={(typed) => change({ ...text, [key]: typed })}
        />
      ))}
    </>
  );
}

import { useState } from 'react';
import type { Entry, EntryKind } from '../../shared/index.ts';
import { today } from '../format.ts';
import { useModel } from '../state/use.ts';
import { Cautions } from '../ui/bits.tsx';
import { DialogFrame } from '../ui/dialog.tsx';
import { LongField, TextField } from '../ui/fields.tsx';
import { CAUTIONS, ENTRY_WORDS } from '../words.ts';

const ASK: Readonly<Record<EntryKind, { label: string; hint: string }>> = {
  playing: { label: 'Note', hint: '' },
  cleaning: { label: 'What was done', hint: 'Brush, putty, liquid; and whether something stayed on the tip' },
  listening: {
    label: 'What was heard',
    hint: 'Passage or test tone, left and right. Rule out dirt, alignment, tracking force, anti-skating and the record itself first',
  },
  'set-up': { label: 'What was changed', hint: 'Tracking force, anti-skating, alignment, height' },
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
  const { host, attempt, open, refresh } = useModel();
  const [date, setDate] = useState(entry?.date ?? today());
  const [text, setText] = useState(entry?.text ?? '');
  const [tried, setTried] = useState(false);
  const save = async (): Promise<void> => {
    setTried(true);
    if (date === '' || text.trim() === '') return;
    const draft = { stylusId, kind: entryKind, date, played: null, text: text.trim() };
    const saved = await attempt(() =>
      entry === null ? host.call('entry.add', draft) : host.call('entry.update', { id: entry.id, draft }),
    );
    if (saved === null) return;
    open(null);
    await refresh();
  };
  return (
    <DialogFrame
      title={`${entry === null ? 'Add' : 'Edit'}: ${ENTRY_WORDS[entryKind].toLowerCase()}`}
      onClose={() => open(null)}
      foot={
        <>
          <button type="button" className="button" onClick={() => open(null)}>
            Cancel
          </button>
          <button type="submit" form="entry-form" className="button button-main">
            Save
          </button>
        </>
      }
    >
      {entryKind === 'cleaning' && <Cautions title="Before the brush" lines={CAUTIONS.cleaning} />}
      {entryKind === 'set-up' && <Cautions title="Before you touch the deck" lines={CAUTIONS.setUp} />}
      <form
        id="entry-form"
        className="form"
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          void save();
        }}
      >
        <TextField
          label="Day"
          type="date"
          value={date}
          error={tried && date === '' ? 'Choose the day.' : null}
          onChange={setDate}
        />
        <LongField
          label={ASK[entryKind].label}
          hint={ASK[entryKind].hint}
          wide
          rows={5}
          value={text}
          error={tried && text.trim() === '' ? 'Write a few words.' : null}
          onChange={setText}
        />
      </form>
    </DialogFrame>
  );
}

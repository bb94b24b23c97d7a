import { useState } from 'react';
import type { Stylus } from '../../shared/index.ts';
import { today } from '../format.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { DialogFrame } from '../ui/dialog.tsx';
import { ChoiceField, LongField, TextField } from '../ui/fields.tsx';

export function RetireDialog({ stylus }: { readonly stylus: Stylus }) {
  const { host, attempt, open, refresh } = useModel();
  const cards = useDaybook((state) => state.cards) ?? [];
  const [date, setDate] = useState(stylus.retired?.date ?? today());
  const [reason, setReason] = useState(stylus.retired?.reason ?? '');
  const [successor, setSuccessor] = useState(stylus.retired?.successorId ?? '');
  const [tried, setTried] = useState(false);
  const save = async (): Promise<void> => {
    setTried(true);
    if (reason.trim() === '' || date === '') return;
    const saved = await attempt(() =>
      host.call('stylus.retire', {
        id: stylus.id,
        date,
        reason: reason.trim(),
        successorId: successor === '' ? null : successor,
      }),
    );
    if (saved === null) return;
    open(null);
    await refresh();
  };
  const others = cards
    .filter((card) => card.stylus.id !== stylus.id && card.stylus.retired === null)
    .map((card) => ({ value: card.stylus.id, label: card.stylus.name }));
  return (
    <DialogFrame
      title="Retire stylus"
      onClose={() => open(null)}
      foot={
        <>
          <button type="button" className="button" onClick={() => open(null)}>
            Cancel
          </button>
          <button type="button" className="button button-main" onClick={() => void save()}>
            Retire it
          </button>
        </>
      }
    >
      <div className="form">
        <p className="field-wide">Its pictures, hours and notes stay in the daybook.</p>
        <TextField label="Day" type="date" value={date} onChange={setDate} />
        <ChoiceField
          label="Successor on the same cartridge"
          value={successor}
          choices={[{ value: '', label: 'none yet' }, ...others]}
          onChange={setSuccessor}
        />
        <LongField
          label="Reason"
          wide
          value={reason}
          error={tried && reason.trim() === '' ? 'Write the reason in a few words.' : null}
          onChange={setReason}
        />
      </div>
    </DialogFrame>
  );
}

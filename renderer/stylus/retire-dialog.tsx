import { useState } from 'react';
import type { Stylus } from '../../shared/index.ts';
import { draftOf } from '../shelf/stylus-form.ts';
import { today } from '../format.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { dayError } from '../ui/day.ts';
import { DialogFrame } from '../ui/dialog.tsx';
import { ChoiceField, LongField, TextField } from '../ui/fields.tsx';

const REASONS = [
  'worn',
  'chipped',
  'cantilever bent',
  'diamond missing or turned',
  'history unknown',
  'lost or sold',
  'replaced before its time',
] as const;
const OTHER = 'other';
const NEW = 'new';

/** "worn: left flat at 12 µm" back into its two fields. */
function parts(reason: string): { readonly kind: string; readonly words: string } {
  const kind = REASONS.find((one) => reason === one || reason.startsWith(`${one}: `));
  return kind === undefined
    ? { kind: reason === '' ? REASONS[0] : OTHER, words: reason }
    : { kind, words: reason.slice(kind.length + 2) };
}

/** On the same cartridge, as far as both name one; what is invented succeeds nothing of one's own, nor the other way round. */
const maySucceed = (stylus: Stylus, other: Stylus): boolean =>
  other.demo === stylus.demo &&
  (other.cartridge === stylus.cartridge || other.cartridge === '' || stylus.cartridge === '');

export function RetireDialog({ stylus }: { readonly stylus: Stylus }) {
  const { host, attempt, open, refresh, done } = useModel();
  const cards = useDaybook((state) => state.cards) ?? [];
  const [date, setDate] = useState(stylus.retired?.date ?? today());
  const [reason, setReason] = useState(() => parts(stylus.retired?.reason ?? ''));
  const [successor, setSuccessor] = useState(stylus.retired?.successorId ?? '');
  const [name, setName] = useState(`${stylus.name}, the next`.slice(0, 200));
  const [tried, setTried] = useState(false);
  const noWords = reason.kind === OTHER && reason.words.trim() === '';
  const noName = successor === NEW && name.trim() === '';
  const save = async (): Promise<void> => {
    setTried(true);
    if (noWords || noName || dayError(date) !== null) return;
    const words = reason.words.trim();
    const said = reason.kind === OTHER ? words : words === '' ? reason.kind : `${reason.kind}: ${words}`;
    const saved = await attempt(async () => {
      const next =
        successor === NEW
          ? (
              await host.call('stylus.create', {
                ...draftOf(stylus),
                name: name.trim(),
                startDate: date,
                startHours: 0,
                startStandardHours: null,
                notes: '',
              })
            ).id
          : successor;
      return host.call('stylus.retire', {
        id: stylus.id,
        date,
        reason: said,
        successorId: next === '' ? null : next,
      });
    });
    if (saved === null) return;
    open(null);
    await done(`“${stylus.name}” is retired.`);
    await refresh();
  };
  const others = cards
    .filter((card) => card.stylus.id !== stylus.id && card.stylus.retired === null)
    .filter((card) => maySucceed(stylus, card.stylus) || card.stylus.id === successor)
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
        <p className="field-wide">
          Its pictures, hours, costs and notes stay in the daybook; its baseline may stand in for the next of
          its type.
        </p>
        <TextField
          label="Day"
          type="date"
          value={date}
          error={tried ? dayError(date) : null}
          onChange={setDate}
        />
        <ChoiceField
          label="Why"
          value={reason.kind}
          choices={[
            ...REASONS.map((value) => ({ value: value as string, label: value as string })),
            { value: OTHER, label: 'another reason' },
          ]}
          onChange={(kind) => setReason((old) => ({ ...old, kind }))}
        />
        <ChoiceField
          label="Successor on the same cartridge"
          value={successor}
          choices={[
            { value: '', label: 'none yet' },
            { value: NEW, label: 'a new stylus of the same type' },
            ...others,
          ]}
          onChange={setSuccessor}
        />
        {successor === NEW && (
          <TextField
            label="Its name"
            maxLength={200}
            value={name}
            error={tried && noName ? 'Give it a name.' : null}
            onChange={setName}
          />
        )}
        <LongField
          label="In words"
          wide
          value={reason.words}
          error={tried && noWords ? 'Write the reason in a few words.' : null}
          onChange={(words) => setReason((old) => ({ ...old, words }))}
        />
      </div>
    </DialogFrame>
  );
}

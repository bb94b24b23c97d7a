import { useState } from 'react';
import { GROOVE_WORDS, type Passage, type PassageDraft } from '../../shared/index.ts';
import { editable, grouped, NBSP, parseNumber } from '../format.ts';
import { useModel } from '../state/use.ts';
import { useUnsaved } from '../state/use-unsaved.ts';
import { ChoiceField, NumberField, TextField } from '../ui/fields.tsx';

const KINDS = [
  { value: 'passage', label: 'Passage of music' },
  { value: 'tone', label: 'Test band: a steady tone' },
] as const;
const CUTS = [
  { value: 'both', label: 'Both channels' },
  { value: 'left', label: 'Left channel only' },
  { value: 'right', label: 'Right channel only' },
] as const;
const GROOVES = (Object.entries(GROOVE_WORDS) as [Passage['groove'], string][]).map(([value, label]) => ({
  value,
  label,
}));

export function PassageForm({
  passage,
  onDone,
}: {
  readonly passage: Passage | null;
  readonly onDone: () => void;
}) {
  const { host, attempt, refresh } = useModel();
  const [kind, setKind] = useState<Passage['kind']>(passage?.kind ?? 'passage');
  const [name, setName] = useState(passage?.name ?? '');
  const [place, setPlace] = useState(passage?.place ?? '');
  const [groove, setGroove] = useState<Passage['groove']>(passage?.groove ?? 'unknown');
  const [hz, setHz] = useState(editable(passage?.toneHz ?? null));
  const [cutOn, setCutOn] = useState<Passage['cutOn']>(passage?.cutOn ?? 'both');
  const [notes, setNotes] = useState(passage?.notes ?? '');
  const [tried, setTried] = useState(false);
  const [touched, setTouched] = useState(false);
  useUnsaved(touched);
  const toneHz = kind === 'tone' ? parseNumber(hz) : null;
  const wrongHz = kind === 'tone' && (toneHz === null || toneHz < 20 || toneHz > 20_000);
  const save = async (): Promise<void> => {
    setTried(true);
    if (name.trim() === '' || wrongHz) return;
    const draft: PassageDraft = { kind, name, place, groove, toneHz, cutOn, notes };
    const saved = await attempt(() =>
      passage === null
        ? host.call('passage.add', draft)
        : host.call('passage.update', { id: passage.id, draft }),
    );
    if (saved === null) return;
    await refresh();
    onDone();
  };
  return (
    <form
      className="form panel-form"
      aria-label={passage === null ? 'New passage or test band' : `Edit: ${passage.name}`}
      noValidate
      onInput={() => setTouched(true)}
      onSubmit={(event) => {
        event.preventDefault();
        void save();
      }}
    >
      <ChoiceField label="Kind" value={kind} choices={KINDS} onChange={setKind} />
      <TextField
        label="Name"
        value={name}
        maxLength={200}
        error={tried && name.trim() === '' ? 'Give it a name.' : null}
        onChange={setName}
      />
      <TextField
        label="Record and place"
        hint="Record, side, song or band, minute"
        value={place}
        maxLength={500}
        onChange={setPlace}
      />
      <ChoiceField label="Where on the side" value={groove} choices={GROOVES} onChange={setGroove} />
      {kind === 'tone' && (
        <>
          <NumberField
            label="Frequency"
            suffix="Hz"
            value={hz}
            error={tried && wrongHz ? `A frequency between 20 and ${grouped(20_000)}${NBSP}Hz.` : null}
            onChange={setHz}
          />
          <ChoiceField label="Cut on" value={cutOn} choices={CUTS} onChange={setCutOn} />
        </>
      )}
      <TextField label="Remarks" value={notes} maxLength={5000} onChange={setNotes} />
      <div className="actions field-wide">
        <button type="submit" className="button button-main">
          Save
        </button>
        <button type="button" className="button" onClick={onDone}>
          Cancel
        </button>
      </div>
    </form>
  );
}

import { useState } from 'react';
import {
  checkText,
  CLEANING_WORDS,
  HEARD_WORDS,
  SYMPTOM_WORDS,
  VERDICT_WORDS,
  SYMPTOMS,
  type Entry,
  type ListeningCheck,
  type Symptom,
} from '../../shared/index.ts';
import { today } from '../format.ts';
import { writeRoute } from '../state/route.ts';
import { useModel } from '../state/use.ts';
import { dayError } from '../ui/day.ts';
import { FormDialog } from '../ui/dialog.tsx';
import { ChoiceField, LongField, TextField, TickField } from '../ui/fields.tsx';
import { useListening } from './use-listening.ts';

const choices = <T extends string>(words: Readonly<Record<T, string>>) =>
  (Object.entries(words) as [T, string][]).map(([value, label]) => ({ value, label }));

type Heard = ListeningCheck['heard'][number];
const startHeard = (check: ListeningCheck | null): Heard[] =>
  SYMPTOMS.map(
    (symptom) =>
      check?.heard.find((one) => one.symptom === symptom) ?? { symptom, answer: 'not-listened', channel: '' },
  );

/** The own words behind the line that the program makes of the answers. */
const ownWords = (entry: Entry | null): string => {
  if (entry === null) return '';
  if (!entry.listening) return entry.text;
  return entry.text.split('\n').slice(1).join('\n');
};

/** One listening check: which passages, what for, and how it was against the last time. */
export function ListeningDialog({
  stylusId,
  entry,
}: {
  readonly stylusId: string;
  readonly entry: Entry | null;
}) {
  const { host, attempt, open, leave, refresh } = useModel();
  const page = useListening(stylusId);
  const before = entry?.listening ?? null;
  const [date, setDate] = useState(entry?.date ?? today());
  const [cleaning, setCleaning] = useState<ListeningCheck['cleaning']>(before?.cleaning ?? 'none');
  const [passageIds, setPassageIds] = useState<readonly string[]>(before?.passageIds ?? []);
  const [heard, setHeard] = useState<readonly Heard[]>(() => startHeard(before));
  const [verdict, setVerdict] = useState<ListeningCheck['verdict']>(before?.verdict ?? 'unsure');
  const [own, setOwn] = useState(() => ownWords(entry));
  const [tried, setTried] = useState(false);
  const change = (symptom: Symptom, part: Partial<Heard>): void =>
    setHeard((all) => all.map((one) => (one.symptom === symptom ? { ...one, ...part } : one)));
  const save = async (): Promise<void> => {
    setTried(true);
    if (dayError(date) !== null) return;
    const listening: ListeningCheck = { cleaning, passageIds: [...passageIds], heard: [...heard], verdict };
    const names = (page?.passages ?? []).filter((one) => passageIds.includes(one.id)).map((one) => one.name);
    const text = checkText(listening, names, own.trim());
    const draft = { stylusId, kind: 'listening' as const, date, played: null, text, listening };
    const saved = await attempt(() =>
      entry === null ? host.call('entry.add', draft) : host.call('entry.update', { id: entry.id, draft }),
    );
    if (saved === null) return;
    open(null);
    await refresh();
  };
  return (
    <FormDialog
      wide
      title={`${entry === null ? 'Add' : 'Edit'}: listening check`}
      onClose={() => open(null)}
      formId="listening-form"
      onSave={save}
    >
      <TextField
        label="Day"
        type="date"
        value={date}
        error={tried ? dayError(date) : null}
        onChange={setDate}
      />
      <ChoiceField label="Moment" value={cleaning} choices={choices(CLEANING_WORDS)} onChange={setCleaning} />
      <fieldset className="form field-wide passage-ticks">
        <legend>Passages and test bands</legend>
        {page?.passages
          .filter((one) => one.binnedAt === null || passageIds.includes(one.id))
          .map((one) => (
            <TickField
              key={one.id}
              label={one.place === '' ? one.name : `${one.name} (${one.place})`}
              checked={passageIds.includes(one.id)}
              onChange={(checked) =>
                setPassageIds((ids) => (checked ? [...ids, one.id] : ids.filter((id) => id !== one.id)))
              }
            />
          ))}
        {page?.passages.length === 0 && (
          <p className="hint field-wide">
            None yet. Choose a few that you know by heart, among them an inner groove, and keep them on the{' '}
            <a
              href={writeRoute({ screen: 'listening', stylusId })}
              onClick={(event) => {
                // Where the form was opened on that screen the address stays the same, and nobody would follow it.
                event.preventDefault();
                leave({ screen: 'listening', stylusId });
              }}
            >
              listening screen
            </a>
            .
          </p>
        )}
      </fieldset>
      {heard.map((one) => (
        <div className="field-wide symptom" key={one.symptom}>
          <ChoiceField
            label={SYMPTOM_WORDS[one.symptom].name}
            hint={SYMPTOM_WORDS[one.symptom].how}
            value={one.answer}
            choices={choices(HEARD_WORDS)}
            onChange={(answer) => change(one.symptom, { answer })}
          />
          {one.symptom === 'one-channel' && one.answer !== 'not-listened' && one.answer !== 'not-heard' && (
            <ChoiceField
              label="Which channel"
              value={one.channel}
              choices={[
                { value: '', label: 'not said' },
                { value: 'left channel', label: 'left channel' },
                { value: 'right channel', label: 'right channel' },
              ]}
              onChange={(channel) => change(one.symptom, { channel })}
            />
          )}
        </div>
      ))}
      <ChoiceField
        label="On the whole"
        hint="Against the last check. “Worse” asks for the other causes first."
        value={verdict}
        choices={choices(VERDICT_WORDS)}
        onChange={setVerdict}
      />
      <LongField label="In your own words" wide rows={3} value={own} onChange={setOwn} />
    </FormDialog>
  );
}

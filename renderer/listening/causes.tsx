import { useId, useState } from 'react';
import { CAUSE_ANSWER_WORDS, CAUSE_WORDS, CAUSE_ANSWERS, type CauseAnswer } from '../../shared/index.ts';
import { today } from '../format.ts';
import { useModel } from '../state/use.ts';
import { Cautions } from '../ui/bits.tsx';
import { ChoiceField, TextField } from '../ui/fields.tsx';
import { CAUTIONS } from '../words.ts';

const CHOICES = CAUSE_ANSWERS.map((value) => ({ value, label: CAUSE_ANSWER_WORDS[value] }));

/** Other causes, each with how it is checked; an answer is saved as soon as it is given. */
export function Causes({
  stylusId,
  causes,
}: {
  readonly stylusId: string;
  readonly causes: readonly CauseAnswer[];
}) {
  return (
    <>
      <Cautions title="Before you touch the deck" lines={CAUTIONS.setUp} open={false} />
      <ul className="causes">
        {causes.map((cause) => (
          <CauseRow key={cause.cause} stylusId={stylusId} given={cause} />
        ))}
      </ul>
    </>
  );
}

function CauseRow({ stylusId, given }: { readonly stylusId: string; readonly given: CauseAnswer }) {
  const { host, attempt } = useModel();
  const { name, how } = CAUSE_WORDS[given.cause];
  const [note, setNote] = useState(given.note);
  const heading = useId();
  const save = async (change: Partial<CauseAnswer>): Promise<void> => {
    const next = { ...given, note: note.trim(), ...change };
    await attempt(() =>
      host.call('cause.answer', {
        stylusId,
        ...next,
        date: next.answer === 'not-checked' ? null : (change.date ?? given.date ?? today()),
      }),
    );
  };
  return (
    <li className={`cause cause-${given.answer}`} aria-labelledby={heading}>
      <div>
        <h4 id={heading}>{name}</h4>
        <p className="hint">{how}</p>
      </div>
      <div className="cause-answer">
        <ChoiceField
          label={`${name}: answer`}
          value={given.answer}
          choices={CHOICES}
          onChange={(answer) => void save({ answer, date: answer === 'not-checked' ? null : today() })}
        />
        {given.answer !== 'not-checked' && (
          <>
            <TextField
              label={`${name}: checked on`}
              type="date"
              value={given.date ?? ''}
              onChange={(date) => date !== '' && void save({ date })}
            />
            <div onBlur={() => note.trim() !== given.note && void save({})}>
              <TextField label={`${name}: note`} value={note} maxLength={2000} onChange={setNote} />
            </div>
          </>
        )}
      </div>
    </li>
  );
}

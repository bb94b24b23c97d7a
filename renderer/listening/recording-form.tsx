import { useEffect, useRef, useState } from 'react';
import {
  CLEANING_WORDS,
  MAX_UPLOAD_BYTES,
  type Passage,
  type Recording,
  type SoundOffered,
} from '../../shared/index.ts';
import { grouped, NBSP, today } from '../format.ts';
import { useModel } from '../state/use.ts';
import { useUnsaved } from '../state/use-unsaved.ts';
import { dayError } from '../ui/day.ts';
import { Cautions } from '../ui/bits.tsx';
import { ChoiceField, TextField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';

const MOMENTS = (Object.entries(CLEANING_WORDS) as [Recording['cleaning'], string][]).map(
  ([value, label]) => ({ value, label }),
);
const HOW = [
  'Mute or turn down the amplifier before you touch stylus, cartridge or plugs, and lower the arm with the lift.',
  'Same deck, same input, same level, same rate of sampling as the last time, no effects and no noise reduction; the level well below full scale.',
  'Begin before the passage and end after it. Save it as WAV: 16 or 24 bits, or float.',
];

/** A WAV file is read first; then the person says of what and of when it is. */
export function RecordingForm({
  stylusId,
  passages,
}: {
  readonly stylusId: string;
  readonly passages: readonly Passage[];
}) {
  const { host, run, attempt, say, refresh } = useModel();
  const input = useRef<HTMLInputElement>(null);
  const [offered, setOffered] = useState<SoundOffered | null>(null);
  const [passageId, setPassageId] = useState('');
  const [day, setDay] = useState('');
  const [cleaning, setCleaning] = useState<Recording['cleaning']>('none');
  const [notes, setNotes] = useState('');
  const [tried, setTried] = useState(false);
  useUnsaved(offered !== null);
  const left = useRef<string | null>(null);
  useEffect(
    () => () => {
      // Left without "Add": nothing stays behind on the machine's side.
      if (left.current !== null)
        void host.call('sound.withdraw', { token: left.current }).catch(() => undefined);
    },
    [host],
  );
  const hold = (sound: SoundOffered | null): void => {
    left.current = sound?.token ?? null;
    setOffered(sound);
  };
  const choose = async (file: File): Promise<void> => {
    if (file.size > MAX_UPLOAD_BYTES)
      return say(
        `The file is larger than ${MAX_UPLOAD_BYTES / 2 ** 20} MB. Cut out the passage or the test band.`,
        'problem',
      );
    const bytes = new Uint8Array(await file.arrayBuffer());
    const sound = await run('Reading the recording', () =>
      host.call('sound.offer', { fileName: file.name, bytes }),
    );
    if (sound === null) return undefined;
    setTried(false);
    if (passageId === '' && passages.length === 1) setPassageId(passages[0].id);
    return hold(sound);
  };
  const add = async (): Promise<void> => {
    setTried(true);
    if (offered === null || passageId === '' || dayError(day) !== null) return;
    const facts = { token: offered.token, stylusId, passageId, recordedOn: day, cleaning, notes };
    const added = await attempt(() => host.call('recording.add', facts));
    if (added === null) return;
    hold(null);
    setNotes('');
    const tone = passages.find((one) => one.id === passageId)?.kind === 'tone';
    if (tone)
      await run('Measuring the recording', (jobId) =>
        host.call('recording.measure', { id: added.id, jobId }),
      );
    await refresh();
  };
  if (passages.length === 0)
    return <p className="hint">First say above which passages and test bands there are.</p>;
  return (
    <>
      <Cautions title="How to record" lines={HOW} open={offered !== null} />
      <input
        ref={input}
        type="file"
        accept="audio/wav,audio/x-wav,.wav"
        className="visually-hidden"
        aria-label="Recording, WAV file"
        tabIndex={-1}
        onChange={(event) => {
          const file = event.target.files?.[0];
          event.target.value = '';
          if (file !== undefined) void choose(file);
        }}
      />
      {offered === null ? (
        <button type="button" className="button" onClick={() => input.current?.click()}>
          <Icon name="plus" />
          Add a recording (WAV)
        </button>
      ) : (
        <form
          className="form panel-form"
          aria-label="Add a recording"
          noValidate
          onSubmit={(event) => {
            event.preventDefault();
            void add();
          }}
        >
          <p className="field-wide">
            <strong>{offered.fileName}</strong>
            {`: ${offered.seconds.toFixed(1)}${NBSP}s, ${grouped(offered.sampleRate)}${NBSP}samples a second, ${offered.bits}${NBSP}bits, ${offered.channelCount === 2 ? 'two channels' : 'one channel'}, highest level ${offered.peakDb.toFixed(1).replace('-', '−')}${NBSP}dB of full scale.`}
          </p>
          {offered.warnings.map((warning) => (
            <p className="notice field-wide" key={warning}>
              {warning}
            </p>
          ))}
          <ChoiceField
            label="Of which passage"
            value={passageId}
            choices={[
              { value: '', label: 'choose' },
              ...passages.map((one) => ({ value: one.id, label: one.name })),
            ]}
            error={tried && passageId === '' ? 'Choose the passage or band.' : null}
            onChange={setPassageId}
          />
          <TextField
            label="Recorded on"
            type="date"
            value={day}
            hint={
              <button type="button" className="button button-quiet" onClick={() => setDay(today())}>
                Today
              </button>
            }
            error={tried ? dayError(day, 'Choose the day. The file’s own date is not believed.') : null}
            onChange={setDay}
          />
          <ChoiceField label="Moment" value={cleaning} choices={MOMENTS} onChange={setCleaning} />
          <TextField label="Remarks" value={notes} maxLength={5000} onChange={setNotes} />
          <div className="actions field-wide">
            <button type="submit" className="button button-main">
              Add the recording
            </button>
            <button
              type="button"
              className="button"
              onClick={() => {
                void attempt(() => host.call('sound.withdraw', { token: offered.token }));
                hold(null);
              }}
            >
              Cancel
            </button>
          </div>
        </form>
      )}
    </>
  );
}

import { useState } from 'react';
import {
  CLEANING_WORDS,
  GROOVE_WORDS,
  inThousands,
  type ListeningPage,
  type Passage,
  type Recording,
} from '../../shared/index.ts';
import { formatDate, grouped, NBSP } from '../format.ts';
import { writeRoute } from '../state/route.ts';
import { whyUnsaved } from '../state/unsaved.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { Crumb, ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { Comparisons } from './comparisons.tsx';
import { PassageForm } from './passage-form.tsx';
import { RecordingForm } from './recording-form.tsx';
import { ToneHistory, ToneTable } from './tone-view.tsx';
import { useListening } from './use-listening.ts';

/** Known passages and test bands, what was recorded of them with this stylus, and what the recordings show. */
export function ListeningScreen({ stylusId }: { readonly stylusId: string }) {
  const stylus = useDaybook((state) => state.page?.stylus ?? null);
  const problem = useDaybook((state) => state.problem);
  const page = useListening(stylusId);
  const { open, say } = useModel();
  const [editing, setEditing] = useState<Passage | 'new' | null>(null);
  /** The form of another passage takes the place of the one that is open. */
  const edit = (next: Passage | 'new'): void => {
    const why = whyUnsaved();
    if (why === null) setEditing(next);
    else say(why);
  };
  if (stylus === null || page === null)
    return problem === null ? <p className="waiting">Opening…</p> : <NotThere sentence={problem} />;
  return (
    <div className="screen">
      <Crumb to={writeRoute({ screen: 'stylus', stylusId })} name={stylus.name} />
      <div className="screen-head">
        <ScreenTitle>Listening</ScreenTitle>
        <div className="actions">
          <button
            type="button"
            className="button button-main"
            onClick={() => open({ kind: 'entry', stylusId, entryKind: 'listening', entry: null })}
          >
            <Icon name="ear" />
            Listening check
          </button>
        </div>
      </div>
      <section aria-labelledby="passages">
        <h2 id="passages">Passages and test bands</h2>
        <p className="hint">
          A few that you know by heart: a voice with sibilants, something loud, the first and the last song of
          a side, a test band of 300 to {grouped(3150)}
          {NBSP}Hz. They serve all your styluses. Each listening wears the record a little; the same record
          every time says more than a new one.
        </p>
        <Passages page={page} onEdit={edit} />
        {editing === null ? (
          <button type="button" className="button" onClick={() => setEditing('new')}>
            <Icon name="plus" />
            New passage or test band
          </button>
        ) : (
          <PassageForm
            key={editing === 'new' ? 'new' : editing.id}
            passage={editing === 'new' ? null : editing}
            onDone={() => setEditing(null)}
          />
        )}
      </section>
      <section aria-labelledby="recordings">
        <h2 id="recordings">Recordings</h2>
        <RecordingForm stylusId={stylusId} passages={page.passages.filter((one) => one.binnedAt === null)} />
        {page.recordings.length === 0 && (
          <p className="hint">
            Nothing recorded yet. Recorded with the same settings then and now, a test band shows the change
            of distortion, a passage the change above 5{NBSP}kHz.
          </p>
        )}
        {page.passages.map((passage) => (
          <OfPassage key={passage.id} passage={passage} page={page} />
        ))}
      </section>
    </div>
  );
}

function Passages({
  page,
  onEdit,
}: {
  readonly page: ListeningPage;
  readonly onEdit: (passage: Passage) => void;
}) {
  const { bin } = useModel();
  const shown = page.passages.filter((one) => one.binnedAt === null);
  if (shown.length === 0) return null;
  return (
    <ul className="passages" aria-label="Passages and test bands">
      {shown.map((one) => (
        <li key={one.id}>
          <span>
            <strong>{one.name}</strong>
            <span className="hint">{` ${aboutPassage(one)}`}</span>
          </span>
          <span className="row-actions">
            <button
              type="button"
              className="button button-quiet button-icon"
              aria-label={`Edit: ${one.name}`}
              onClick={() => onEdit(one)}
            >
              <Icon name="edit" />
            </button>
            <button
              type="button"
              className="button button-quiet button-icon"
              aria-label={`Put into the bin: ${one.name}`}
              onClick={() => void bin('passage', one.id, `“${one.name}”`)}
            >
              <Icon name="bin" />
            </button>
          </span>
        </li>
      ))}
    </ul>
  );
}

function aboutPassage(one: Passage): string {
  const cut = { both: 'both channels', left: 'left channel only', right: 'right channel only' }[one.cutOn];
  return [
    one.kind === 'tone' ? `test band, ${inThousands(String(one.toneHz))}${NBSP}Hz, ${cut}` : 'passage',
    one.groove === 'unknown' ? '' : GROOVE_WORDS[one.groove],
    one.place,
    one.notes,
  ]
    .filter(Boolean)
    .join('; ');
}

function OfPassage({ passage, page }: { readonly passage: Passage; readonly page: ListeningPage }) {
  const own = page.recordings.filter((one) => one.passageId === passage.id);
  if (own.length === 0) return null;
  return (
    <article className="of-passage" aria-label={passage.name}>
      <h3>{passage.name}</h3>
      <ul className="recordings">
        {own.map((one) => (
          <RecordingRow key={one.id} recording={one} passage={passage} />
        ))}
      </ul>
      {passage.kind === 'tone' ? (
        <ToneHistory takes={page.takes.filter((one) => one.passageId === passage.id)} />
      ) : (
        <Comparisons recordings={own} comparisons={page.comparisons} />
      )}
    </article>
  );
}

export const recordingName = (one: Pick<Recording, 'recordedOn' | 'cleaning'>): string =>
  `${formatDate(one.recordedOn)}${one.cleaning === 'none' ? '' : `, ${CLEANING_WORDS[one.cleaning]}`}`;

function RecordingRow({ recording, passage }: { readonly recording: Recording; readonly passage: Passage }) {
  const { host, run, bin, refresh } = useModel();
  const name = recordingName(recording);
  const measure = async (): Promise<void> => {
    const made = await run('Measuring the recording', (jobId) =>
      host.call('recording.measure', { id: recording.id, jobId }),
    );
    if (made !== null) await refresh();
  };
  const rate = String(Number((recording.sampleRate / 1000).toFixed(3)));
  return (
    <li>
      <div className="recording-row">
        <p>
          <strong>{name}</strong>
          <span className="hint">
            {` ${recording.fileName}, ${recording.seconds.toFixed(1)}${NBSP}s, ${rate}${NBSP}kHz, ${recording.bits}${NBSP}bits${recording.float ? ' (float)' : ''}, ${recording.channelCount === 2 ? 'two channels' : 'one channel'}${recording.notes === '' ? '' : `; ${recording.notes}`}`}
          </span>
        </p>
        <span className="row-actions">
          {passage.kind === 'tone' && (
            <button type="button" className="button" onClick={() => void measure()}>
              {recording.tone === null ? 'Measure' : 'Measure again'}
              <span className="visually-hidden">{`: ${name}`}</span>
            </button>
          )}
          <button
            type="button"
            className="button button-quiet button-icon"
            aria-label={`Put into the bin: recording of ${name}`}
            onClick={() => void bin('recording', recording.id, 'The recording')}
          >
            <Icon name="bin" />
          </button>
        </span>
      </div>
      {recording.tone !== null && <ToneTable report={recording.tone} name={name} />}
    </li>
  );
}

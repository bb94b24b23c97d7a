import { useState } from 'react';
import type { Capture, Cleaned, StylusPage } from '../../shared/index.ts';
import { formatDated, formatPlain, today } from '../format.ts';
import { JobLine } from '../scales/job-line.tsx';
import { useDaybook, useModel } from '../state/use.ts';
import { dayError } from '../ui/day.ts';
import { Cautions } from '../ui/bits.tsx';
import { DialogFrame } from '../ui/dialog.tsx';
import { ChoiceField, LongField, TextField } from '../ui/fields.tsx';
import { CAUTIONS, VIEW_SHORT } from '../words.ts';
import { FATE_WORDS } from './fate-words.ts';

const usable = (page: StylusPage): Capture[] =>
  page.captures.filter((one) => one.view === 'front' || one.view === 'side');
const nameOf = (one: Capture): string =>
  `${formatDated(one.taken)}, ${VIEW_SHORT[one.view]}, ${one.fileName}`;

/** A pair before and after cleaning: is the residue gone, or does it stay? Kept as a cleaning on the timeline. */
export function CleaningDialog({ page }: { readonly page: StylusPage }) {
  const { host, run, attempt, open, done, refresh } = useModel();
  const busy = useDaybook((state) => Object.keys(state.jobs).length > 0);
  const captures = usable(page);
  const newest = captures.at(-1);
  const partner = newest && captures.findLast((one) => one.view === newest.view && one.id !== newest.id);
  const [beforeId, setBefore] = useState(partner?.id ?? '');
  const [afterId, setAfter] = useState(newest?.id ?? '');
  const [found, setFound] = useState<Cleaned | null>(null);
  const after = captures.find((one) => one.id === afterId);
  const [date, setDate] = useState(after?.taken?.wall.slice(0, 10) ?? today());
  const [text, setText] = useState('');
  const [tried, setTried] = useState(false);
  // An answer belongs to its own pair.
  const cleaned = found?.beforeId === beforeId && found.afterId === afterId ? found : null;
  const compare = async (): Promise<void> => {
    const judged = await run('Comparing before and after', (jobId) =>
      host.call('cleaning.judge', { beforeId, afterId, jobId }),
    );
    if (judged !== null) setFound(judged);
  };
  const keep = async (): Promise<void> => {
    setTried(true);
    if (cleaned === null || dayError(date) !== null) return;
    const draft = {
      stylusId: page.stylus.id,
      kind: 'cleaning' as const,
      date,
      played: null,
      cleaned,
      text: text.trim(),
    };
    if ((await attempt(() => host.call('entry.add', draft))) === null) return;
    open(null);
    await done('The cleaning was put on the timeline.');
    await refresh();
  };
  const choices = (other: string) => [
    ...(captures.length === 0 ? [{ value: '', label: 'no front or side picture yet' }] : []),
    ...captures.filter((one) => one.id !== other).map((one) => ({ value: one.id, label: nameOf(one) })),
  ];
  return (
    <DialogFrame
      title="Before and after cleaning"
      wide
      onClose={() => open(null)}
      foot={
        <>
          <JobLine />
          <button type="button" className="button" onClick={() => open(null)}>
            Cancel
          </button>
          <button
            type="button"
            className="button button-main"
            disabled={cleaned === null}
            onClick={() => void keep()}
          >
            Put it on the timeline
          </button>
        </>
      }
    >
      <Cautions title="Before you clean" lines={CAUTIONS.cleaning} open={cleaned === null} />
      {captures.length < 2 && (
        <p className="notice">
          Two pictures of the same view are needed, front or side: one before the cleaning, one after it.
        </p>
      )}
      <div className="form">
        <ChoiceField label="Before" value={beforeId} choices={choices(afterId)} onChange={setBefore} />
        <ChoiceField label="After" value={afterId} choices={choices(beforeId)} onChange={setAfter} />
        <TextField
          label="Day of the cleaning"
          type="date"
          value={date}
          error={tried ? dayError(date) : null}
          onChange={setDate}
        />
      </div>
      <p className="actions cleaning-go">
        <button
          type="button"
          className="button button-main"
          disabled={busy || beforeId === '' || afterId === ''}
          onClick={() => void compare()}
        >
          Compare the two
        </button>
      </p>
      {cleaned !== null && <CleanedView cleaned={cleaned} />}
      <LongField label="What was done" hint="Brush, putty, liquid" wide value={text} onChange={setText} />
    </DialogFrame>
  );
}

export function CleanedView({ cleaned }: { readonly cleaned: Cleaned }) {
  const list = (name: string, seen: Cleaned['before']) => (
    <div>
      <dt>{name}</dt>
      <dd>
        {seen.length === 0
          ? 'none stands out'
          : seen
              .map(
                (one) =>
                  `at ${formatPlain(one.angleDeg, 0, '°')}, ${formatPlain(one.depthUm, 1, cleaned.unit === 'um' ? 'µm' : '% of shank')} high`,
              )
              .join('; ')}
      </dd>
    </div>
  );
  return (
    <section className={`cleaned cleaned-${cleaned.residue}`} role="status" aria-label="What the pair says">
      <p>
        <strong>{FATE_WORDS[cleaned.residue]}</strong>
      </p>
      <p>{cleaned.message}</p>
      {cleaned.residue !== 'cannot-tell' && (
        <dl className="facts">
          {list('Residue before', cleaned.before)}
          {list('Residue after', cleaned.after)}
        </dl>
      )}
    </section>
  );
}

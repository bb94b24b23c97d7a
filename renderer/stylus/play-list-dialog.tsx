import { useEffect, useState } from 'react';
import {
  DATE_ORDERS,
  PLAY_LIST_UNITS,
  type PlayList,
  type PlayMapping,
  type PlayRow,
  type Stylus,
} from '../../shared/index.ts';
import { formatDate, formatHours, grouped } from '../format.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { JobLine } from '../scales/job-line.tsx';
import { DialogFrame } from '../ui/dialog.tsx';
import { ChoiceField, LiveNumberField, TickField } from '../ui/fields.tsx';

const ORDER_WORDS: Readonly<Record<PlayMapping['dateOrder'], string>> = {
  'year-month-day': 'year, month, day',
  'day-month-year': 'day, month, year',
  'month-day-year': 'month, day, year',
};
const UNIT_WORDS: Readonly<Record<PlayMapping['unit'], string>> = {
  minutes: 'minutes (also 21:30)',
  hours: 'hours',
  seconds: 'seconds',
  sides: 'sides',
  records: 'records',
};

/** A list of plays kept elsewhere: choose the file, say what its columns mean, see every row, then bring it in. */
export function PlayListDialog({ stylus }: { readonly stylus: Stylus }) {
  const { host, attempt, run, open, refresh, done, cancel, store } = useModel();
  const settings = useDaybook((state) => state.settings);
  const [file, setFile] = useState<{ name: string; bytes: Uint8Array<ArrayBuffer> } | null>(null);
  const [mapping, setMapping] = useState<PlayMapping | null>(null);
  const [list, setList] = useState<PlayList | null>(null);
  const [busy, setBusy] = useState(false);
  const minutesPerSide = stylus.minutesPerSide ?? settings.minutesPerSide;
  useEffect(() => {
    if (file === null) return undefined;
    let wanted = true;
    const look = async (): Promise<void> => {
      const question = { bytes: file.bytes, stylusId: stylus.id, mapping, minutesPerSide };
      const answer = await attempt(() => host.call('plays.read', question));
      if (!wanted) return;
      // The first reading's doubts stay in sight while the columns are chosen.
      if (answer === null) setFile(null);
      else setList((old) => ({ ...answer, doubts: mapping === null ? answer.doubts : (old?.doubts ?? []) }));
    };
    void look();
    return () => {
      wanted = false;
    };
  }, [host, attempt, file, mapping, stylus.id, minutesPerSide]);
  const choose = async (chosen: File | undefined): Promise<void> => {
    if (chosen === undefined) return;
    setMapping(null);
    setList(null);
    setFile({ name: chosen.name, bytes: new Uint8Array(await chosen.arrayBuffer()) });
  };
  const bringIn = async (): Promise<void> => {
    if (file === null || list === null) return;
    setBusy(true);
    const made = await run('Bringing in the play list', (jobId) =>
      host.call('plays.import', {
        bytes: file.bytes,
        stylusId: stylus.id,
        mapping: list.mapping,
        minutesPerSide,
        jobId,
      }),
    );
    setBusy(false);
    if (made === null) return;
    open(null);
    await done(`${grouped(made.added)} plays brought in from “${file.name}”.`);
    await refresh();
  };
  const close = (): void => {
    // Closing while it comes in means: stop that. Nothing is in then.
    if (busy) for (const id of Object.keys(store.getState().jobs)) void cancel(id);
    else open(null);
  };
  return (
    <DialogFrame
      title="Bring in a play list"
      wide
      stops={busy}
      onClose={close}
      foot={
        busy ? (
          <JobLine />
        ) : (
          <>
            <p className="foot-note" role="status">
              {list === null
                ? ''
                : `${grouped(list.counts.new)} new, ${grouped(list.counts.known)} already in the daybook, ${grouped(list.counts.refused)} refused; ${formatHours(list.hours)} in all`}
            </p>
            <button type="button" className="button" onClick={close}>
              Cancel
            </button>
            <button
              type="button"
              className="button button-main"
              disabled={list === null || list.counts.new === 0}
              onClick={() => void bringIn()}
            >
              {list === null
                ? 'Bring in'
                : `Bring in ${grouped(list.counts.new)} ${list.counts.new === 1 ? 'play' : 'plays'}`}
            </button>
          </>
        )
      }
    >
      <label className={list === null ? 'chooser' : 'chooser chooser-small'}>
        <span>Play list (CSV)</span>
        <input
          type="file"
          accept=".csv,.tsv,.txt,text/csv,text/plain"
          onChange={(event) => void choose(event.target.files?.[0])}
        />
        <span className="hint">
          One row for each play, with a date, and a title and minutes or sides where there are any. Nothing is
          changed before you have seen it.
        </span>
      </label>
      {list !== null && (
        <>
          {list.doubts.map((doubt) => (
            <p className="notice" key={doubt}>
              {doubt}
            </p>
          ))}
          <MappingFields list={list} stylus={stylus} change={setMapping} />
          <Rows title="How the rows are read" rows={list.preview} />
          {list.counts.refused > 0 && (
            <details className="twin">
              <summary>{`Refused rows: ${grouped(list.counts.refused)}`}</summary>
              <Rows
                title={
                  list.refused.length < list.counts.refused
                    ? `The first ${list.refused.length} of them`
                    : 'Every refused row with its reason'
                }
                rows={list.refused}
              />
            </details>
          )}
        </>
      )}
    </DialogFrame>
  );
}

function MappingFields(props: {
  readonly list: PlayList;
  readonly stylus: Stylus;
  readonly change: (mapping: PlayMapping) => void;
}) {
  const { list, stylus, change } = props;
  const { mapping } = list;
  const columns = list.columns.map((one, i) => ({
    value: String(i),
    label: `${one.name}${one.samples.length === 0 ? '' : ` (${one.samples[0].slice(0, 30)})`}`,
  }));
  const none = (label: string) => [{ value: '', label }, ...columns];
  const set = (part: Partial<PlayMapping>): void => change({ ...mapping, ...part });
  const index = (value: string): number | null => (value === '' ? null : Number(value));
  return (
    <fieldset className="form play-mapping">
      <legend className="visually-hidden">What the columns mean</legend>
      <ChoiceField
        label="Date"
        value={String(mapping.date)}
        choices={columns}
        onChange={(value) => set({ date: Number(value) })}
      />
      <ChoiceField
        label="Order in a date"
        value={mapping.dateOrder}
        choices={DATE_ORDERS.map((value) => ({ value, label: ORDER_WORDS[value] }))}
        onChange={(dateOrder) => set({ dateOrder })}
      />
      <ChoiceField
        label="Title"
        value={mapping.title === null ? '' : String(mapping.title)}
        choices={none('none')}
        onChange={(value) => set({ title: index(value) })}
      />
      <ChoiceField
        label="How much"
        value={mapping.amount === null ? '' : String(mapping.amount)}
        choices={none('each row is one')}
        onChange={(value) => set({ amount: index(value) })}
      />
      <ChoiceField
        label="Counted in"
        value={mapping.unit}
        choices={PLAY_LIST_UNITS.map((value) => ({ value, label: UNIT_WORDS[value] }))}
        onChange={(unit) => set({ unit })}
      />
      {(mapping.unit === 'sides' || mapping.unit === 'records') && (
        <LiveNumberField
          label="Minutes a side"
          suffix="min"
          min={0.5}
          max={120}
          value={mapping.minutesPerSide}
          onChange={(minutesPerSide) => set({ minutesPerSide })}
        />
      )}
      <ChoiceField
        label="Played with"
        value={mapping.deck === null ? '' : String(mapping.deck)}
        choices={none(stylus.name)}
        hint="A column that names the deck or the stylus, if there is one"
        onChange={(value) => set({ deck: index(value) })}
      />
      <TickField
        label="The first row holds names"
        checked={mapping.header}
        onChange={(header) => set({ header })}
      />
    </fieldset>
  );
}

const STATE_WORDS: Readonly<Record<PlayRow['state'], string>> = {
  new: 'new',
  known: 'already here',
  refused: 'refused',
};

function Rows({ title, rows }: { readonly title: string; readonly rows: readonly PlayRow[] }) {
  return (
    // A wide table scrolls inside its own frame, which the keyboard reaches as well.
    // oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex
    <div className="table-frame" tabIndex={0} role="region" aria-label={title}>
      <table className="play-rows">
        <caption>{title}</caption>
        <thead>
          <tr>
            <th scope="col">Row</th>
            <th scope="col">Day</th>
            <th scope="col">Title</th>
            <th scope="col">Time</th>
            <th scope="col">Stylus</th>
            <th scope="col">What becomes of it</th>
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={row.row} className={`play-${row.state}`}>
              <td>{row.row}</td>
              <td>{row.date === null ? '' : formatDate(row.date)}</td>
              <td className="play-title">{row.title}</td>
              <td>{row.hours === null ? '' : formatHours(row.hours)}</td>
              <td className="play-title">{row.stylusName ?? ''}</td>
              <td>
                {row.reason === null ? STATE_WORDS[row.state] : `${STATE_WORDS[row.state]}: ${row.reason}`}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

import { useId, useState } from 'react';
import type { Counted, StudyList, StudySeen, StylusPage } from '../../shared/index.ts';
import { formatDate, today } from '../format.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { dayError } from '../ui/day.ts';
import { Crumb, ScreenTitle } from '../ui/bits.tsx';
import { TextField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { OutdatedNotice } from './outdated.tsx';
import { useStudies } from './use-study.ts';
import { progressText, resultSentences, small } from './words.ts';

/** How steady a person's readings are: begin a study, and choose which ones count. */
export function StudiesScreen() {
  const page = useDaybook((state) => state.page);
  const problem = useDaybook((state) => state.problem);
  const { value } = useStudies();
  if (page === null)
    return problem === null ? <p className="waiting">Opening…</p> : <NotThere sentence={problem} />;
  return (
    <div className="screen study">
      <Crumb to={writeRoute({ screen: 'stylus', stylusId: page.stylus.id })} name={page.stylus.name} />
      <ScreenTitle>Repeatability</ScreenTitle>
      <p>
        No two readings are the same: the stylus lies a little otherwise, the focus is another. Put one stylus
        under the microscope five times or more, taken out and put back each time, and the daybook knows how
        far a single reading of yours scatters. From then on every result of that microscope counts it.
      </p>
      <Begin page={page} />
      {value !== null && (
        <>
          <OutdatedNotice outdated={value.outdated} />
          <ByMicroscope list={value} />
        </>
      )}
    </div>
  );
}

function Begin({ page }: { readonly page: StylusPage }) {
  const { host, attempt, set, go } = useModel();
  const { seenBy } = useDaybook((state) => state.settings);
  const [who, setWho] = useState(seenBy);
  const [microscope, setMicroscope] = useState(page.captures.at(-1)?.microscope ?? '');
  const [day, setDay] = useState(today());
  const [tried, setTried] = useState(false);
  const names = [...new Set(page.captures.map((one) => one.microscope).filter((name) => name !== ''))];
  const listId = useId();
  const begin = async (): Promise<void> => {
    setTried(true);
    if (microscope.trim() === '' || dayError(day) !== null) return;
    const draft = { stylusId: page.stylus.id, day, who, microscope, notes: '' };
    const study = await attempt(() => host.call('study.create', draft));
    if (study === null) return;
    set({ seenBy: study.who });
    go({ screen: 'study', stylusId: page.stylus.id, studyId: study.id });
  };
  return (
    <section aria-labelledby="study-begin" className="study-begin">
      <h2 id="study-begin">{`Begin a study with “${page.stylus.name}”`}</h2>
      <p className="hint">
        Take a stylus with flats that are seen on both walls, the wider the better to see; it need not be the
        one that you will judge later.
      </p>
      <div className="form">
        <TextField
          label="Who takes the pictures"
          hint="A repeatability belongs to one pair of hands"
          maxLength={200}
          value={who}
          onChange={setWho}
        />
        <TextField
          label="Microscope"
          hint="Your name for it, as at the pictures it is to count for"
          maxLength={200}
          list={listId}
          value={microscope}
          error={tried && microscope.trim() === '' ? 'Name the microscope: the study counts for it.' : null}
          onChange={setMicroscope}
        />
        <datalist id={listId}>
          {names.map((name) => (
            <option key={name} value={name}>
              {name}
            </option>
          ))}
        </datalist>
        <TextField
          label="Day"
          type="date"
          value={day}
          error={tried ? dayError(day) : null}
          onChange={setDay}
        />
      </div>
      <button type="button" className="button button-main" onClick={() => void begin()}>
        <Icon name="plus" />
        Begin
      </button>
    </section>
  );
}

function ByMicroscope({ list }: { readonly list: StudyList }) {
  const groups = new Map<string, StudySeen[]>();
  for (const one of list.studies) {
    const key = one.study.microscope.toLowerCase();
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups].map(([key, seen]) => (
    <Group
      // What is ticked follows what counts.
      key={key + seen.map(({ study }) => `${study.id}${study.counts}`).join()}
      seen={seen}
      counted={list.counted.find((one) => one.microscope.toLowerCase() === key) ?? null}
    />
  ));
}

type GroupProps = { readonly seen: readonly StudySeen[]; readonly counted: Counted | null };

function Group({ seen, counted }: GroupProps) {
  const { host, attempt, done, refresh, bin } = useModel();
  const { unit } = useDaybook((state) => state.settings);
  const [ticked, setTicked] = useState<readonly string[]>(
    seen.filter(({ study }) => study.counts).map(({ study }) => study.id),
  );
  const { microscope } = seen[0].study;
  const headId = useId();
  const choose = async (): Promise<void> => {
    const ids = [...ticked];
    const chosen = await attempt(() => host.call('study.choose', { microscope, ids }));
    if (chosen === null) return;
    await done(
      ids.length === 0
        ? `No study counts for “${microscope}” now.`
        : `For “${microscope}” the chosen stud${ids.length === 1 ? 'y counts' : 'ies count'} from now on.`,
    );
    await refresh();
  };
  return (
    <section aria-labelledby={headId}>
      <h2 id={headId}>{`Studies with “${microscope}”`}</h2>
      <ul className="study-list">
        {seen.map((one) => (
          <li key={one.study.id}>
            <label className="study-tick">
              <input
                type="checkbox"
                checked={ticked.includes(one.study.id)}
                disabled={one.result === null && !one.study.counts}
                onChange={(event) =>
                  setTicked(
                    event.target.checked
                      ? [...ticked, one.study.id]
                      : ticked.filter((id) => id !== one.study.id),
                  )
                }
              />
              <span>
                {`${formatDate(one.study.day)}, ${one.study.who === '' ? 'nobody named' : one.study.who}, “${one.stylusName}”`}
              </span>
            </label>
            <p className="hint">
              {one.result === null ? progressText(one.readings) : resultSentences(one.result, unit)[0]}
            </p>
            <div className="actions">
              <a
                className="button"
                href={writeRoute({
                  screen: 'study',
                  stylusId: one.study.stylusId,
                  studyId: one.study.id,
                })}
              >
                {one.result === null ? 'Go on with it' : 'Open'}
                <span className="visually-hidden">{`: study of ${formatDate(one.study.day)}`}</span>
              </a>
              <button
                type="button"
                className="button button-quiet"
                onClick={() => void bin('study', one.study.id, `The study of ${formatDate(one.study.day)}`)}
              >
                <Icon name="bin" />
                Put into the bin
                <span className="visually-hidden">{`: study of ${formatDate(one.study.day)}`}</span>
              </button>
            </div>
          </li>
        ))}
      </ul>
      <p>
        {counted === null
          ? `None counts: results of “${microscope}” hold the fit’s own noise and no scatter of placing.`
          : (counted.problem ??
            `What counts: ${(['left', 'right'] as const)
              .map((side) => `${side} ${small(counted.given?.[side].standardUm ?? 0, unit)}`)
              .join(', ')}, ${counted.given?.left.degreesOfFreedom ?? 0} degrees of freedom.`)}
      </p>
      <button type="button" className="button" onClick={() => void choose()}>
        {ticked.length === 0 ? 'Let none count' : 'Let the ticked ones count'}
      </button>
      <p className="hint">
        Several studies of one person are pooled when their spreads are alike (F test on the ratio of their
        variances, 5 %); otherwise only one of them can count.
      </p>
    </section>
  );
}

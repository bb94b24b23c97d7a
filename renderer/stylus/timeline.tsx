import { useDeferredValue, useMemo, useRef, useState } from 'react';
import type { StylusPage } from '../../shared/index.ts';
import { grouped } from '../format.ts';
import { TextField } from '../ui/fields.tsx';
import { ENTRY_WORDS } from '../words.ts';
import { settingsBefore } from './set-up.ts';
import { searched, timeline, type TimelineItem, type TimelineKind } from './timeline-data.ts';
import { PlainList, WindowedList, type ListHandle } from './timeline-list.tsx';

const KIND_WORDS: Readonly<Record<TimelineKind, string>> = {
  capture: 'Pictures',
  comparison: 'Comparisons',
  mark: 'Marks',
  ...ENTRY_WORDS,
};
/** Up to here every row is drawn, so that the browser's own search finds it; beyond it only those in sight. */
const ALL_DRAWN = 150;

export function Timeline({ page }: { readonly page: StylusPage }) {
  const items = useMemo(() => timeline(page), [page]);
  const before = useMemo(() => settingsBefore(page.entries), [page.entries]);
  const [kinds, setKinds] = useState<ReadonlySet<TimelineKind>>(new Set());
  const [words, setWords] = useState('');
  const wanted = useDeferredValue(words);
  const list = useRef<ListHandle>(null);
  const present = useMemo(() => {
    const count = new Map<TimelineKind, number>();
    for (const { kind } of items) count.set(kind, (count.get(kind) ?? 0) + 1);
    return [...count];
  }, [items]);
  const filtered = useMemo(
    () => searched(kinds.size === 0 ? items : items.filter(({ kind }) => kinds.has(kind)), wanted),
    [items, kinds, wanted],
  );
  if (items.length === 0)
    return (
      <p className="hint">Nothing here yet. Pictures, playing time and notes appear in order of date.</p>
    );
  const toggle = (kind: TimelineKind): void =>
    setKinds((old) => {
      const next = new Set(old);
      if (!next.delete(kind)) next.add(kind);
      return next;
    });
  const List = filtered.length <= ALL_DRAWN ? PlainList : WindowedList;
  return (
    <>
      {present.length > 1 && (
        <div className="filter" role="group" aria-label="Show only">
          <button
            type="button"
            className="chip"
            aria-pressed={kinds.size === 0}
            onClick={() => setKinds(new Set())}
          >
            Everything
          </button>
          {present.map(([kind, count]) => (
            <button
              key={kind}
              type="button"
              className="chip"
              aria-pressed={kinds.has(kind)}
              onClick={() => toggle(kind)}
            >
              {`${KIND_WORDS[kind]} ${grouped(count)}`}
            </button>
          ))}
        </div>
      )}
      {items.length > 4 && (
        <div className="timeline-find">
          <TextField label="Find words" value={words} onChange={setWords} />
          <Jump items={filtered} onJump={(index) => list.current?.show(index)} />
          <p className="hint" role="status">
            {filtered.length === items.length
              ? `${grouped(items.length)} entries`
              : `${grouped(filtered.length)} of ${grouped(items.length)} entries`}
          </p>
        </div>
      )}
      {filtered.length === 0 ? (
        <p className="hint">Nothing of this kind with these words.</p>
      ) : (
        <List key={List.name} items={filtered} page={page} before={before} handle={list} />
      )}
    </>
  );
}

/** Newest first, as the items are. */
function yearsOf(items: readonly TimelineItem[]): string[] {
  const years: string[] = [];
  for (const { date } of items)
    if (date !== null && !date.startsWith(years.at(-1) ?? 'none')) years.push(date.slice(0, 4));
  return years;
}

/** To the newest entry of a day or before it. */
function Jump(props: { readonly items: readonly TimelineItem[]; readonly onJump: (index: number) => void }) {
  const { items, onJump } = props;
  const [day, setDay] = useState('');
  const years = useMemo(() => yearsOf(items), [items]);
  const to = (date: string): void => {
    const index = items.findIndex((item) => item.date !== null && item.date <= date);
    onJump(index === -1 ? items.length - 1 : index);
  };
  return (
    <>
      <form
        className="jump"
        onSubmit={(event) => {
          event.preventDefault();
          if (day !== '') to(day);
        }}
      >
        <TextField label="Day" type="date" value={day} onChange={setDay} />
        <button type="submit" className="button">
          Go to it
        </button>
      </form>
      {years.length > 1 && (
        <div className="filter years" role="group" aria-label="Go to a year">
          {years.map((year) => (
            <button
              key={year}
              type="button"
              className="chip"
              aria-label={`Go to ${year}`}
              onClick={() => to(`${year}-12-31`)}
            >
              {year}
            </button>
          ))}
        </div>
      )}
    </>
  );
}

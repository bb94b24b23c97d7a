import { useMemo, useState } from 'react';
import type { StylusPage } from '../../shared/index.ts';
import { formatDate } from '../format.ts';
import { ENTRY_WORDS } from '../words.ts';
import { timeline, type TimelineItem, type TimelineKind } from './timeline-data.ts';
import { TimelineRow } from './timeline-row.tsx';

const KIND_WORDS: Readonly<Record<TimelineKind, string>> = {
  capture: 'Pictures',
  comparison: 'Comparisons',
  mark: 'Marks',
  ...ENTRY_WORDS,
};
/** Rows drawn at once; ten years of daily records must not cost more than the screenful that is looked at. */
const STEP = 120;

export function Timeline({ page }: { readonly page: StylusPage }) {
  const items = useMemo(() => timeline(page), [page]);
  const [only, setOnly] = useState<TimelineKind | 'all'>('all');
  const [shown, setShown] = useState(STEP);
  const kinds = useMemo(() => [...new Set(items.map((item) => item.kind))], [items]);
  const filtered = only === 'all' ? items : items.filter((item) => item.kind === only);
  if (items.length === 0)
    return (
      <p className="hint">Nothing here yet. Pictures, playing time and notes appear in order of date.</p>
    );
  return (
    <>
      {kinds.length > 1 && (
        <div className="filter" role="group" aria-label="Show only">
          {(['all', ...kinds] as const).map((kind) => (
            <button
              key={kind}
              type="button"
              className="chip"
              aria-pressed={only === kind}
              onClick={() => setOnly(kind)}
            >
              {kind === 'all' ? 'Everything' : KIND_WORDS[kind]}
            </button>
          ))}
        </div>
      )}
      {byYear(filtered.slice(0, shown)).map(([year, rows]) => (
        <section key={year} aria-label={year}>
          <h3 className="timeline-year">{year}</h3>
          <ol className="timeline">
            {rows.map((item) => (
              <TimelineRow key={item.id} item={item} page={page} />
            ))}
          </ol>
        </section>
      ))}
      {filtered.length > shown && (
        <button type="button" className="button" onClick={() => setShown(shown + STEP)}>
          {`Show earlier (${filtered.length - shown} more, back to ${oldest(filtered)})`}
        </button>
      )}
    </>
  );
}

function byYear(items: readonly TimelineItem[]): [string, TimelineItem[]][] {
  const years = new Map<string, TimelineItem[]>();
  for (const item of items) {
    const year = item.date?.slice(0, 4) ?? 'Without a date';
    years.set(year, [...(years.get(year) ?? []), item]);
  }
  return [...years];
}

function oldest(items: readonly TimelineItem[]): string {
  const date = items.at(-1)?.date ?? null;
  return date === null ? 'undated' : formatDate(date);
}

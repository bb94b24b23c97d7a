import { useWindowVirtualizer } from '@tanstack/react-virtual';
import {
  memo,
  useCallback,
  useImperativeHandle,
  useLayoutEffect,
  useRef,
  useState,
  type RefObject,
} from 'react';
import type { SetUp, StylusPage } from '../../shared/index.ts';
import type { TimelineItem } from './timeline-data.ts';
import { TimelineRow } from './timeline-row.tsx';

/** The rows of the timeline, all of them or only those in sight; both say how many there are and can go to one. */
export type ListHandle = { readonly show: (index: number) => void };
type ListProps = {
  readonly items: readonly TimelineItem[];
  readonly page: StylusPage;
  readonly before: ReadonlyMap<string, SetUp>;
  readonly handle: RefObject<ListHandle | null>;
};

const NO_DATE = 'Without a date';
const yearOf = (item: TimelineItem | undefined): string => item?.date?.slice(0, 4) ?? NO_DATE;

type OneProps = {
  readonly items: readonly TimelineItem[];
  readonly index: number;
  readonly page: StylusPage;
  readonly before: SetUp | null;
};
/** A row with its year above it where the year begins. */
const One = memo(function One({ items, index, page, before }: OneProps) {
  const item = items[index];
  const begins = index === 0 || yearOf(items[index - 1]) !== yearOf(item);
  return (
    <>
      {begins && <h3 className="timeline-year">{yearOf(item)}</h3>}
      <TimelineRow item={item} page={page} before={before} />
    </>
  );
});

const NAME = 'Timeline, newest first';

/** Puts the focus on a row, so that keyboard and screen reader go on from there. */
function focusRow(list: HTMLElement | null, index: number): boolean {
  const row = list?.querySelector<HTMLElement>(`[data-index="${index}"]`);
  if (row === null || row === undefined) return false;
  row.focus({ preventScroll: true });
  return true;
}

export function PlainList({ items, page, before, handle }: ListProps) {
  const list = useRef<HTMLOListElement>(null);
  useImperativeHandle(handle, () => ({
    show: (index) => {
      list.current?.querySelector(`[data-index="${index}"]`)?.scrollIntoView({ block: 'start' });
      focusRow(list.current, index);
    },
  }));
  return (
    <ol className="timeline" aria-label={NAME} ref={list}>
      {items.map((item, index) => (
        <li key={item.id} data-index={index} tabIndex={-1}>
          <One items={items} index={index} page={page} before={before.get(item.id) ?? null} />
        </li>
      ))}
    </ol>
  );
}

/** Height of a row that was not drawn yet, px. */
const rowGuess = (): number => 62;

export function WindowedList({ items, page, before, handle }: ListProps) {
  const list = useRef<HTMLOListElement>(null);
  const [top, setTop] = useState(0);
  // What stands above the list changes its place: pictures that load, a chart that appears.
  useLayoutEffect(() => {
    const measure = (): void => {
      if (list.current !== null) setTop(list.current.getBoundingClientRect().top + window.scrollY);
    };
    measure();
    const observer = new ResizeObserver(measure);
    observer.observe(document.body);
    return () => observer.disconnect();
  }, []);
  // A new function would have it go through all rows again at every drawing.
  const keyOf = useCallback((index: number) => items[index].id, [items]);
  // Nothing here is memoised by a compiler, which is what the rule warns of.
  // oxlint-disable-next-line react/incompatible-library
  const rows = useWindowVirtualizer({
    count: items.length,
    estimateSize: rowGuess,
    overscan: 12,
    scrollMargin: top,
    getItemKey: keyOf,
  });
  useImperativeHandle(handle, () => ({
    show: (index) => {
      rows.scrollToIndex(index, { align: 'start' });
      // The row is drawn some frames after the scrolling.
      let tries = 0;
      const focus = (): void => {
        if (!focusRow(list.current, index) && ++tries < 30) requestAnimationFrame(focus);
      };
      requestAnimationFrame(focus);
    },
  }));
  return (
    <ol
      className="timeline timeline-windowed"
      aria-label={NAME}
      ref={list}
      style={{ height: rows.getTotalSize() }}
    >
      {rows.getVirtualItems().map((row) => (
        <li
          key={row.key}
          data-index={row.index}
          ref={rows.measureElement}
          tabIndex={-1}
          aria-setsize={items.length}
          aria-posinset={row.index + 1}
          style={{ transform: `translateY(${row.start - top}px)` }}
        >
          <One items={items} index={row.index} page={page} before={before.get(items[row.index].id) ?? null} />
        </li>
      ))}
    </ol>
  );
}

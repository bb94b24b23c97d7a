import type { Capture, Comparison, Entry, EntryKind, Mark, StylusPage } from '../../shared/index.ts';

/** Everything that happened to a stylus, as one list. */
export type TimelineKind = EntryKind | 'capture' | 'comparison' | 'mark';
export type TimelineItem = { readonly id: string; readonly date: string | null } & (
  | { readonly kind: 'capture'; readonly capture: Capture }
  | { readonly kind: 'comparison'; readonly comparison: Comparison; readonly later: Capture | null }
  | { readonly kind: 'mark'; readonly mark: Mark }
  | { readonly kind: EntryKind; readonly entry: Entry }
);

/** Newest first; what has no date stands on top, where it asks for one. */
export function timeline(page: StylusPage): TimelineItem[] {
  const captures = new Map(page.captures.map((capture) => [capture.id, capture]));
  const others: Other[] = [
    ...page.captures.map((capture) => ({
      id: capture.id,
      kind: 'capture' as const,
      date: capture.taken?.wall.slice(0, 10) ?? null,
      capture,
    })),
    ...page.comparisons.map((comparison) => {
      const later = captures.get(comparison.laterId) ?? null;
      const date = later?.taken?.wall.slice(0, 10) ?? null;
      return { id: comparison.id, kind: 'comparison' as const, date, comparison, later };
    }),
    // What was rejected is an answer to the program, not something that happened to the stylus.
    ...page.marks
      .filter((mark) => mark.state !== 'rejected')
      .map((mark) => ({ id: mark.id, kind: 'mark' as const, date: mark.seenOn, mark })),
  ];
  const sorted = others.toSorted(
    (a, b) => later(a.date ?? '9999', b.date ?? '9999') || RANK[a.kind] - RANK[b.kind],
  );
  return merged(sorted, page.entries);
}

type Other = Exclude<TimelineItem, { readonly entry: Entry }>;
/** On one day marks stand above the comparison they come from, that above its picture, and all above what was played up to then. */
const RANK: Readonly<Record<Other['kind'], number>> = { mark: 0, comparison: 1, capture: 2 };

/** Dates of one form sort as plain text; comparing thousands by the rules of a language takes a tenth of a second. */
const later = (a: string, b: string): number => (a === b ? 0 : a < b ? 1 : -1);

/**
 * Entries come oldest first, and those of one day stay in their order: twenty thousand of them are put between the
 * others as they stand, without sorting.
 */
function merged(others: readonly Other[], entries: readonly Entry[]): TimelineItem[] {
  const items: TimelineItem[] = [];
  let next = 0;
  for (let end = entries.length; end > 0;) {
    const { date } = entries[end - 1];
    let start = end - 1;
    while (start > 0 && entries[start - 1].date === date) start--;
    while (next < others.length && (others[next].date ?? '9999') >= date) items.push(others[next++]);
    for (let i = start; i < end; i++) {
      const entry = entries[i];
      items.push({ id: entry.id, kind: entry.kind, date: entry.date, entry });
    }
    end = start;
  }
  while (next < others.length) items.push(others[next++]);
  return items;
}

/** Items that carry every word, in whatever order. */
export function searched(items: readonly TimelineItem[], text: string): readonly TimelineItem[] {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  if (words.length === 0) return items;
  return items.filter((item) => {
    const said = textOf(item).toLowerCase();
    return words.every((word) => said.includes(word));
  });
}

function textOf(item: TimelineItem): string {
  const date = item.date ?? '';
  switch (item.kind) {
    case 'capture':
      return `${date} ${item.capture.fileName} ${item.capture.notes} ${item.capture.view}`;
    case 'comparison':
      return `${date} comparison`;
    case 'mark':
      return `${date} ${item.mark.kind} ${item.mark.note} ${item.mark.seenBy}`;
    default:
      return `${date} ${item.kind} ${item.entry.text}`;
  }
}

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
  const items: TimelineItem[] = [
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
    ...page.entries.map((entry) => ({ id: entry.id, kind: entry.kind, date: entry.date, entry })),
  ];
  // On one day marks stand above the comparison they come from, that above its picture, and all above what was played up to then.
  const rank = (item: TimelineItem): number =>
    item.kind === 'mark' ? 0 : item.kind === 'comparison' ? 1 : item.kind === 'capture' ? 2 : 3;
  return items.toSorted((a, b) => later(a.date ?? '9999', b.date ?? '9999') || rank(a) - rank(b));
}

/** Dates of one form sort as plain text; comparing twenty thousand by the rules of a language takes a tenth of a second. */
const later = (a: string, b: string): number => (a === b ? 0 : a < b ? 1 : -1);

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

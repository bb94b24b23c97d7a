import { pieceOf, type StylusChange, type StylusPage } from '../../../shared/index.ts';
import { newId } from './changes.ts';
import type { Database } from './database.ts';
import { stylusPage } from './styluses.ts';

/**
 * The last few pages as they were sent, so that the next one is told by what became different: ten years of entries are
 * 8 MB, and after one more of them every screen would read all again.
 */
const KEPT = 3;

export type SentPages = {
  readonly whole: (id: string) => StylusPage;
  /** Null where the state is not known any more, or is another stylus'. */
  readonly change: (id: string, state: string) => StylusChange | null;
};

export function createSentPages(db: Database): SentPages {
  const sent = new Map<string, StylusPage>();
  const read = (id: string): StylusPage & { readonly state: string } => {
    const page = stylusPage(db, id, 'without-lines');
    const state = newId();
    sent.set(state, page);
    if (sent.size > KEPT) sent.delete(sent.keys().next().value!);
    return { ...page, state };
  };
  return {
    whole: read,
    change: (id, state) => {
      const old = sent.get(state);
      if (old?.stylus.id !== id) return null;
      const page = read(id);
      return {
        ...page,
        captures: pieceIn(old.captures, page.captures),
        comparisons: pieceIn(old.comparisons, page.comparisons),
        entries: pieceIn(old.entries, page.entries),
      };
    },
  };
}

function pieceIn<T>(old: readonly T[], now: readonly T[]): { first: number; last: number; between: T[] } {
  const { between, ...piece } = pieceOf(old, now);
  return { ...piece, between: [...between] };
}

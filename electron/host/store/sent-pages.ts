import {
  pieceOf,
  type StylusChange,
  type StylusOpening,
  type StylusPage,
  type StylusPiece,
} from '../../../shared/index.ts';
import { newId } from './changes.ts';
import type { Database } from './database.ts';
import { stylusPage } from './styluses.ts';

/**
 * The last few pages as they were sent: their rows go over in pieces, and the next page is told by what became different.
 * Ten years of entries are 6 MB, and after one more of them every screen would read all again.
 */
const KEPT = 3;

export type SentPages = {
  /** Its first rows, with the number of pieces that hold the others. */
  readonly open: (id: string) => StylusOpening;
  /** Null where the state is not known any more, or is another stylus'. */
  readonly piece: (id: string, state: string, number: number) => StylusPiece | null;
  /** Null there, too, and where so much is different that it had better come in pieces. */
  readonly change: (id: string, state: string) => StylusChange | null;
};

type List = keyof StylusPiece;
const LISTS: readonly List[] = ['captures', 'comparisons', 'entries'];
/** How much of a message a row takes, in entries: a report's brief is 2 kB, an entry 0.3. */
const WEIGHT: Readonly<Record<List, number>> = { captures: 7, comparisons: 7, entries: 1 };
/** About half a megabyte: the window reads it in 5 to 10 ms. */
const MOST_WEIGHT = 2000;

type Sent = { readonly page: StylusPage; readonly pieces: readonly StylusPiece[] };

export function createSentPages(db: Database): SentPages {
  const sent = new Map<string, Sent>();
  const keep = (page: StylusPage): string => {
    const state = newId();
    sent.set(state, { page, pieces: cut(page) });
    if (sent.size > KEPT) sent.delete(sent.keys().next().value!);
    return state;
  };
  const known = (id: string, state: string): Sent | null => {
    const found = sent.get(state);
    return found?.page.stylus.id === id ? found : null;
  };
  return {
    open: (id) => {
      const page = stylusPage(db, id, 'without-lines');
      const state = keep(page);
      const [first, ...others] = sent.get(state)!.pieces;
      return { ...page, ...first, state, pieces: others.length };
    },
    piece: (id, state, number) => known(id, state)?.pieces.at(number + 1) ?? null,
    change: (id, state) => {
      const old = known(id, state)?.page;
      if (old === undefined) return null;
      const page = stylusPage(db, id, 'without-lines');
      const lists = {
        captures: pieceIn(old.captures, page.captures),
        comparisons: pieceIn(old.comparisons, page.comparisons),
        entries: pieceIn(old.entries, page.entries),
      };
      const weight = LISTS.reduce((sum, list) => sum + WEIGHT[list] * lists[list].between.length, 0);
      return weight > MOST_WEIGHT ? null : { ...page, ...lists, state: keep(page) };
    },
  };
}

function pieceIn<T>(old: readonly T[], now: readonly T[]): { first: number; last: number; between: T[] } {
  const { between, ...piece } = pieceOf(old, now);
  return { ...piece, between: [...between] };
}

/** At least one piece; all of them one after the other are the page's lists. */
function cut(page: StylusPage): StylusPiece[] {
  const empty = (): StylusPiece => ({ captures: [], comparisons: [], entries: [] });
  const pieces = [empty()];
  let weight = 0;
  for (const list of LISTS)
    for (let at = 0; at < page[list].length;) {
      const room = Math.floor((MOST_WEIGHT - weight) / WEIGHT[list]);
      if (room === 0) {
        pieces.push(empty());
        weight = 0;
        continue;
      }
      const rows = page[list].slice(at, at + room);
      Object.assign(pieces.at(-1)!, { [list]: rows });
      at += rows.length;
      weight += rows.length * WEIGHT[list];
    }
  return pieces;
}

import type { HostHandlers } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { mustBeInUse, mustNotCutOff, mustHaveHappened } from '../happened.ts';
import { addDemo, removeDemo } from '../demo.ts';
import { addEntry, readEntry, setBinned, updateEntry } from '../store/entries.ts';
import { readCapture } from '../store/captures.ts';
import { listStyluses } from '../store/cards.ts';
import { readComparison } from '../store/comparisons.ts';
import { knownPictures } from '../store/known-pictures.ts';
import { createSentPages } from '../store/sent-pages.ts';
import { createStylus, readStylus, retireStylus, stylusPage, updateStylus } from '../store/styluses.ts';

type Names =
  | 'stylus.list'
  | 'stylus.page'
  | 'stylus.open'
  | 'stylus.piece'
  | 'stylus.renew'
  | 'capture.known'
  | 'capture.read'
  | 'comparison.read'
  | 'stylus.create'
  | 'stylus.update'
  | 'stylus.retire'
  | 'entry.add'
  | 'entry.update'
  | 'bin.put'
  | 'bin.takeBack'
  | 'demo.add'
  | 'demo.remove';

/** Rows that hold no picture: styluses, entries, the bin, the demo collection. */
export function collectionHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db } = context.collection;
  const pages = createSentPages(db);
  const changed = (stylusId: string | null) => context.emit('changed', { stylusId });
  return {
    'stylus.list': async () => listStyluses(db),
    'stylus.page': async ({ id }) => stylusPage(db, id, 'without-lines'),
    'stylus.open': async ({ id }) => pages.open(id),
    'stylus.piece': async ({ id, state, number }) => pages.piece(id, state, number),
    'stylus.renew': async ({ id, state }) => pages.change(id, state),
    'capture.known': async () => knownPictures(db),
    'capture.read': async ({ id }) => readCapture(db, id),
    'comparison.read': async ({ id }) => readComparison(db, id),
    'stylus.create': async (draft) => {
      mustHaveHappened([draft.startDate]);
      const stylus = createStylus(db, draft);
      changed(null);
      return stylus;
    },
    'stylus.update': async ({ id, draft }) => {
      mustHaveHappened([draft.startDate]);
      mustNotCutOff(db, readStylus(db, id), draft);
      const stylus = updateStylus(db, id, draft);
      changed(id);
      return stylus;
    },
    'stylus.retire': async ({ id, ...end }) => {
      mustHaveHappened([end.date]);
      const stylus = retireStylus(db, id, end);
      changed(id);
      return stylus;
    },
    'entry.add': async (draft) => {
      mustHaveHappened([draft.date]);
      mustBeInUse(readStylus(db, draft.stylusId), draft);
      const entry = addEntry(db, draft);
      changed(entry.stylusId);
      return entry;
    },
    'entry.update': async ({ id, draft }) => {
      mustHaveHappened([draft.date]);
      const before = readEntry(db, id).stylusId;
      mustBeInUse(readStylus(db, draft.stylusId), draft);
      const entry = updateEntry(db, id, draft);
      if (before !== entry.stylusId) changed(before);
      changed(entry.stylusId);
      return entry;
    },
    'bin.put': async ({ kind, id }) => {
      changed(setBinned(db, kind, id, true));
      return {};
    },
    'bin.takeBack': async ({ kind, id }) => {
      changed(setBinned(db, kind, id, false));
      return {};
    },
    'demo.add': async () => {
      await addDemo(context);
      changed(null);
      return {};
    },
    'demo.remove': async () => {
      removeDemo(db);
      changed(null);
      return {};
    },
  };
}

import type { HostHandlers } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { mustHaveHappened } from '../happened.ts';
import { addMark, marksOf, updateMark } from '../store/marks.ts';
import { readStylus } from '../store/styluses.ts';

type Names = 'mark.list' | 'mark.add' | 'mark.update';

export function markHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db } = context.collection;
  return {
    'mark.list': async ({ stylusId }) => {
      readStylus(db, stylusId);
      return marksOf(db, stylusId);
    },
    'mark.add': async ({ draft }) => {
      mustHaveHappened([draft.seenOn]);
      const mark = addMark(db, draft);
      context.emit('changed', { stylusId: mark.stylusId });
      return mark;
    },
    'mark.update': async ({ id, draft }) => {
      mustHaveHappened([draft.seenOn]);
      const mark = updateMark(db, id, draft);
      context.emit('changed', { stylusId: mark.stylusId });
      return mark;
    },
  };
}

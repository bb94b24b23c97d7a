import type { HostHandlers, SteppedHistory } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { historyState, stepHistory } from '../store/history.ts';

type Names = 'history.state' | 'history.undo' | 'history.redo';

export function historyHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db } = context.collection;
  const step = (way: 'undo' | 'redo', number: number | null): SteppedHistory => {
    const { step: done, changed } = stepHistory(db, way, number);
    for (const stylusId of changed) context.emit('changed', { stylusId });
    return done;
  };
  return {
    'history.state': async () => historyState(db),
    'history.undo': async ({ number }) => step('undo', number),
    'history.redo': async ({ number }) => step('redo', number),
  };
}

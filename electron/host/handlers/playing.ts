import type { HostHandlers } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { habitMustBeInUse } from '../happened.ts';
import { importPlays, readPlays } from '../plays/plays.ts';
import { addHabit, updateHabit } from '../store/habits.ts';
import { readStylus } from '../store/styluses.ts';

type Names = 'habit.add' | 'habit.update' | 'plays.read' | 'plays.import';

/** Playing time that nobody writes down day by day: habits, and lists kept elsewhere. */
export function playingHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db } = context.collection;
  return {
    'habit.add': async (draft) => {
      habitMustBeInUse(readStylus(db, draft.stylusId), draft);
      const habit = addHabit(db, draft);
      context.emit('changed', { stylusId: habit.stylusId });
      return habit;
    },
    'habit.update': async ({ id, draft }) => {
      habitMustBeInUse(readStylus(db, draft.stylusId), draft);
      const habit = updateHabit(db, id, draft);
      context.emit('changed', { stylusId: habit.stylusId });
      return habit;
    },
    'plays.read': (question) => readPlays(db, question),
    'plays.import': ({ jobId, ...question }) =>
      context.jobs.run(jobId, context.timeLimitMs, async (options) => {
        const { stylusIds, ...counts } = await importPlays(db, question, options);
        for (const stylusId of stylusIds) context.emit('changed', { stylusId });
        return counts;
      }),
  };
}

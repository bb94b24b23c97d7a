import type { HostHandlers } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { courseOf } from '../wear/course.ts';

type Names = 'wear.course';

/** Wear against hours, and what follows from it. */
export function wearHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db } = context.collection;
  return {
    'wear.course': async ({ stylusId, ...question }) => courseOf(db, stylusId, question),
  };
}

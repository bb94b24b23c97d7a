import type { HostHandlers } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { courseOf, fitAside } from '../wear/course.ts';
import { dueLooks, lookCalendar } from '../wear/looks.ts';

type Names = 'wear.course' | 'looks.list' | 'looks.calendar';

/** Wear against hours, and what follows from it. */
export function wearHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db } = context.collection;
  return {
    'wear.course': async ({ stylusId, ...question }) => {
      await fitAside(context, stylusId, question.today);
      return courseOf(db, stylusId, question);
    },
    'looks.list': async (question) => dueLooks(context, question),
    'looks.calendar': async (question) => {
      const { text, count } = await lookCalendar(context, question);
      return { bytes: new Uint8Array(new TextEncoder().encode(text)), fileName: 'next-looks.ics', count };
    },
  };
}

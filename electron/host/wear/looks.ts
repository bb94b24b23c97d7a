import { dayWords, Refusal } from '../../../shared/index.ts';
import type { DueLook } from '../../../shared/index.ts';
import { type CalendarEvent, calendarFile } from '../calendar/ical.ts';
import type { Context } from '../context.ts';
import { confirmedDamage } from '../store/cards.ts';
import { listOfStyluses } from '../store/styluses.ts';
import { type CourseQuestion, courseOf, fitAside } from './course.ts';

const otherCalls = (): Promise<void> =>
  new Promise((resolve) => {
    setImmediate(resolve);
  });

/** A fit keeps a core busy for a second, so it begins when nobody has asked for anything for a moment. */
const CALM_MS = 400;
/** Waited in all, however much is asked meanwhile. */
const MOST_WAITED_MS = 3000;

function stepsBack({ calm }: Context): (forMs: number) => Promise<void> {
  let left = MOST_WAITED_MS;
  return async (forMs) => {
    const began = performance.now();
    await calm.until(forMs, Math.max(0, left));
    left -= performance.now() - began;
  };
}

/**
 * The next look at every stylus in use, the earliest first; none at one that somebody found damaged. Long histories take a
 * moment each: between two of them other calls get their turn, so that nobody who clicks on a card waits for all.
 */
export async function dueLooks(context: Context, question: CourseQuestion): Promise<DueLook[]> {
  const { db } = context.collection;
  const calmFor = stepsBack(context);
  const looks: DueLook[] = [];
  for (const { id, name, cartridge, deck, demo, retired, limitUm } of listOfStyluses(db)) {
    // What ends playing comes off now, and nobody plans to look at it again.
    if (retired !== null || confirmedDamage(db, id).length > 0) continue;
    await otherCalls();
    await calmFor(0);
    if (limitUm !== null) await fitAside(context, id, question.today, () => calmFor(CALM_MS));
    const { look } = courseOf(db, id, { ...question, lookOnly: true });
    looks.push({ stylusId: id, name, cartridge, deck, demo, look });
  }
  return looks.toSorted((a, b) => a.look.date.localeCompare(b.look.date) || a.name.localeCompare(b.name));
}

/** The same as a calendar file. A look that is overdue stands on today, not in a past that nobody opens. */
export async function lookCalendar(
  context: Context,
  question: CourseQuestion,
  now: Date = new Date(),
): Promise<{ readonly text: string; readonly count: number }> {
  const looks = await dueLooks(context, question);
  if (looks.length === 0)
    throw new Refusal('nothing-there', 'There is no stylus in use, so nothing is due. Start a stylus first.');
  const events = looks.map(({ stylusId, name, cartridge, deck, demo, look }): CalendarEvent => {
    const where = [cartridge, deck].filter((part) => part !== '').join(', ');
    return {
      uid: `next-look-${stylusId}@stylus-daybook.invalid`,
      date: look.date < question.today ? question.today : look.date,
      summary: `Look at the stylus: ${name}`,
      description: [
        where,
        look.why,
        look.overdue ? `Overdue since ${dayWords(look.date)}.` : '',
        demo ? 'Invented demo.' : '',
        'Mute or turn down the amplifier before you touch stylus or cartridge.',
      ]
        .filter((line) => line !== '')
        .join('\n'),
    };
  });
  return { text: calendarFile(events, now), count: events.length };
}

import { Refusal } from '../../../shared/index.ts';
import type { DueLook } from '../../../shared/index.ts';
import { type CalendarEvent, calendarFile } from '../calendar/ical.ts';
import type { Database } from '../store/database.ts';
import { listOfStyluses } from '../store/styluses.ts';
import { type CourseQuestion, courseOf } from './course.ts';

/** The next look at every stylus in use, the earliest first. */
export function dueLooks(db: Database, question: CourseQuestion): DueLook[] {
  return listOfStyluses(db)
    .filter((stylus) => stylus.retired === null)
    .map((stylus): DueLook => {
      const course = courseOf(db, stylus.id, { ...question, lookOnly: true });
      return {
        stylusId: stylus.id,
        name: stylus.name,
        cartridge: stylus.cartridge,
        deck: stylus.deck,
        demo: stylus.demo,
        look: course.look,
      };
    })
    .toSorted((a, b) => a.look.date.localeCompare(b.look.date) || a.name.localeCompare(b.name));
}

/** The same as a calendar file. A look that is overdue stands on today, not in a past that nobody opens. */
export function lookCalendar(
  db: Database,
  question: CourseQuestion,
  now: Date = new Date(),
): { readonly text: string; readonly count: number } {
  const looks = dueLooks(db, question);
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
        look.overdue ? `Overdue since ${look.date}.` : '',
        demo ? 'Invented demo.' : '',
        'Mute or turn down the amplifier before you touch stylus or cartridge.',
      ]
        .filter((line) => line !== '')
        .join('\n'),
    };
  });
  return { text: calendarFile(events, now), count: events.length };
}

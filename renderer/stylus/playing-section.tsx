import type { Habit, StylusPage } from '../../shared/index.ts';
import { formatDate, formatHours, formatMeasured, grouped, NBSP } from '../format.ts';
import { hoursNow, toRecords } from '../state/hours.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Icon } from '../ui/icons.tsx';
import { amountText } from '../words.ts';

/** Where the hours come from and how sure they are; habits; lists kept elsewhere. */
export function PlayingSection({ page }: { readonly page: StylusPage }) {
  const { open } = useModel();
  const usualMinutes = useDaybook((state) => state.settings.minutesPerSide);
  const stylusId = page.stylus.id;
  const figure = hoursNow(page);
  const hours = { factor: 1, symbol: 'h' };
  const total =
    figure.standard < 0.01
      ? formatHours(figure.hours)
      : formatMeasured({ value: figure.hours, expanded: 2 * figure.standard }, hours);
  const rows: [string, string][] = [
    ['Before the daybook', figure.known ? formatHours(figure.atStart) : 'nobody knows'],
    ['Logged', formatHours(figure.logged)],
    ['Estimated', formatHours(figure.estimated)],
    ['By weekly habit, an estimate', formatHours(figure.byHabit)],
    [figure.known ? 'Together' : 'Together, without the time before', total],
    ['Records', grouped(toRecords(figure.hours, page.stylus.minutesPerSide ?? usualMinutes))],
    ['Groove', `${grouped(figure.kilometres)}${NBSP}km`],
  ];
  return (
    <section aria-labelledby="playing">
      <h2 id="playing">Playing time</h2>
      <dl className="facts playing-facts">
        {rows.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
      {page.habits.length > 0 && (
        <ul className="habits" aria-label="Weekly habits">
          {page.habits.map((habit) => (
            <HabitRow key={habit.id} habit={habit} />
          ))}
        </ul>
      )}
      <p className="actions">
        <button
          type="button"
          className="button"
          onClick={() => open({ kind: 'habit', stylusId, habit: null })}
        >
          <Icon name="clock" />
          Weekly habit
        </button>
        <button type="button" className="button" onClick={() => open({ kind: 'play-list', stylusId })}>
          <Icon name="note" />
          Bring in a play list
        </button>
      </p>
    </section>
  );
}

export function habitWords(habit: Habit): string {
  const amount = `${amountText(Number(habit.amount.toPrecision(4)), habit.unit)} a week`;
  const hours = habit.unit === 'hours' ? '' : ` (${formatHours(habit.hoursPerWeek)})`;
  const until = habit.endDate === null ? 'on' : `to ${formatDate(habit.endDate)}`;
  return `${amount}${hours}, from ${formatDate(habit.startDate)} ${until}`;
}

function HabitRow({ habit }: { readonly habit: Habit }) {
  const { open, bin } = useModel();
  const words = habitWords(habit);
  return (
    <li className="habit">
      <span>
        {words} <span className="tag">estimate</span>
        {habit.text !== '' && <small>{habit.text}</small>}
      </span>
      <span className="row-actions">
        <button
          type="button"
          className="button button-quiet button-icon"
          aria-label={`Edit habit: ${words}`}
          onClick={() => open({ kind: 'habit', stylusId: habit.stylusId, habit })}
        >
          <Icon name="edit" />
        </button>
        <button
          type="button"
          className="button button-quiet button-icon"
          aria-label={`Put habit into the bin: ${words}`}
          onClick={() => void bin('habit', habit.id, 'The habit')}
        >
          <Icon name="bin" />
        </button>
      </span>
    </li>
  );
}

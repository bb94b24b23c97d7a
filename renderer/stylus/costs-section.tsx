import { priceText, type StylusPage, type WearCourse } from '../../shared/index.ts';
import { formatHours, NBSP } from '../format.ts';
import { toRecords } from '../state/hours.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { LiveNumberField } from '../ui/fields.tsx';
import { carriedOn, type CostLine, expectedLife, lateRisk, lineOf, money } from './costs.ts';

/** Price and life, by the hour and by the record, carried on along a cartridge; and what too late may cost. */
export function CostsSection(props: { readonly page: StylusPage; readonly course: WearCourse | null }) {
  const { page, course } = props;
  const { open } = useModel();
  const cards = useDaybook((state) => state.cards) ?? [];
  const settings = useDaybook((state) => state.settings);
  const { stylus } = page;
  const minutes = stylus.minutesPerSide ?? settings.minutesPerSide;
  const line = lineOf(stylus.id, cards);
  const life = expectedLife(stylus, course, settings.practiceHours);
  return (
    <section aria-labelledby="costs">
      <h2 id="costs">Costs</h2>
      {stylus.price === null ? (
        <p className="actions">
          <span className="hint">No price yet.</span>
          <button
            type="button"
            className="button"
            onClick={() => open({ kind: 'stylus', stylusId: stylus.id })}
          >
            Enter the price
          </button>
        </p>
      ) : (
        <p>
          {`${priceText(stylus.price, stylus.currency)} for ${lifeText(life)} (${life.from}): ${perHour(stylus.price, life, stylus.currency)} an hour, ${perRecord(stylus.price, life, minutes, stylus.currency)} a record.`}
        </p>
      )}
      <LineTable line={line} minutes={minutes} />
      <Late page={page} course={course} minutes={minutes} />
    </section>
  );
}

type Life = ReturnType<typeof expectedLife>;
const two = (hours: number): string => formatHours(Number(hours.toPrecision(2)));

function lifeText({ low, high }: Life): string {
  if (high === null) return `${two(low)} or more`;
  return high === low ? formatHours(low) : `${two(low)} to ${two(high)}`;
}

function range(low: number, high: number, currency: string): string {
  const [a, b] = [money(low, ''), money(high, currency)];
  return money(low, currency) === b ? b : `${a} to ${b}`;
}

function perHour(price: number, { low, high }: Life, currency: string): string {
  return high === null
    ? `at most ${money(price / low, currency)}`
    : range(price / high, price / low, currency);
}

function perRecord(price: number, life: Life, minutes: number, currency: string): string {
  const record = (2 * minutes) / 60;
  return perHour(price * record, life, currency);
}

function LineTable({ line, minutes }: { readonly line: readonly CostLine[]; readonly minutes: number }) {
  const played = line.filter(({ price }) => price !== null);
  if (played.length === 0) return null;
  const all = line.length > 1 ? carriedOn(line) : null;
  const each = (price: number | null, hours: number | null, currency: string): [string, string] =>
    price === null || hours === null || hours < 1
      ? ['', '']
      : [money(price / hours, currency), money(price / toRecords(hours, minutes), currency)];
  return (
    <table className="costs">
      <caption>
        {line.length > 1 ? 'So far, with what came before on this cartridge' : 'So far, were it to end today'}
      </caption>
      <thead>
        <tr>
          <th scope="col">Stylus</th>
          <th scope="col">Price</th>
          <th scope="col">Played</th>
          <th scope="col">An hour</th>
          <th scope="col">A record</th>
        </tr>
      </thead>
      <tbody>
        {line.map(({ id, name, price, currency, hours }) => {
          const [hour, record] = each(price, hours, currency);
          return (
            <tr key={id}>
              <th scope="row">
                <a href={writeRoute({ screen: 'stylus', stylusId: id })}>{name}</a>
              </th>
              <td>{price === null ? 'not known' : priceText(price, currency)}</td>
              <td>{formatHours(hours)}</td>
              <td>{hour}</td>
              <td>{record}</td>
            </tr>
          );
        })}
        {all !== null && (
          <tr className="costs-all">
            <th scope="row">All of them</th>
            <td>{priceText(all.price, all.currency)}</td>
            <td>{formatHours(all.hours)}</td>
            <td>{each(all.price, all.hours, all.currency)[0]}</td>
            <td>{each(all.price, all.hours, all.currency)[1]}</td>
          </tr>
        )}
      </tbody>
    </table>
  );
}

/** An upper bound, said as one: how much of a record a worn tip takes away nobody can say. */
function Late(props: {
  readonly page: StylusPage;
  readonly course: WearCourse | null;
  readonly minutes: number;
}) {
  const { page, course, minutes } = props;
  const { set } = useModel();
  const { recordValue, practiceHours } = useDaybook((state) => state.settings);
  const { stylus } = page;
  if (stylus.retired !== null) return null;
  const habit = course?.habit ?? null;
  const risk =
    habit === null || recordValue === 0
      ? null
      : lateRisk({
          hoursPerWeek: habit.hoursPerWeek,
          minutesPerSide: minutes,
          recordValue,
          price: stylus.price,
          life: expectedLife(stylus, course, practiceHours),
        });
  return (
    <div className="late">
      <LiveNumberField
        label="A record of yours is worth"
        hint="To you, or to replace; 0 leaves this out"
        {...(stylus.currency === '' ? {} : { suffix: stylus.currency })}
        min={0}
        max={1e6}
        value={recordValue}
        onChange={(value) => set({ recordValue: value })}
      />
      <p>
        {risk === null
          ? habit === null
            ? 'What replacing it too late may cost needs the hours a week: a weekly habit, or a log of at least four weeks with playing time in the last half year.'
            : 'Say what a record is worth to you, and this shows what replacing too late may cost.'
          : `A week too late: about ${Number(risk.recordsPerWeek.toPrecision(2))}${NBSP}records, worth ${money(risk.worthPerWeek, stylus.currency)}, pass under a worn tip. That is the most it can spoil, not a forecast; a record does not heal.${risk.weekEarlier === null ? '' : ` A week too early: ${money(risk.weekEarlier, stylus.currency)} of the price not played.`}`}
      </p>
    </div>
  );
}

import {
  forecastRange,
  forecastWords,
  type Measured,
  type WallCourse,
  type WearCourse,
} from '../../shared/index.ts';
import { formatHours, formatMeasured, grouped, lengthUnit, NBSP, today, type LengthUnit } from '../format.ts';

/** The wear law in numbers, one column a wall: the chart's twin for law, band and limit. */
export function LawTable(props: {
  readonly course: WearCourse;
  readonly unit: LengthUnit;
  readonly limitUm: number | null;
}) {
  const { course, unit, limitUm } = props;
  const walls = [course.left, course.right];
  if (walls.every((wall) => wall === null)) return <Sentences course={course} />;
  const each = (what: (wall: WallCourse) => string): string[] =>
    walls.map((wall) => (wall === null ? 'no law' : what(wall)));
  const shown = lengthUnit(unit);
  const rows: [string, string[]][] = [
    ['Pictures with a width and hours', each((wall) => String(wall.pointCount))],
    [`Exponent n (belief: 3 to 4)`, each((wall) => formatMeasured(wall.exponent, PLAIN))],
    [`Rate c, µm to the power n, per hour`, each((wall) => rateText(wall.rate))],
    [`Width at 0${NBSP}h, w₀`, each((wall) => formatMeasured(wall.startUm, shown))],
  ];
  if (limitUm !== null) {
    rows.push(['Your limit is reached at', each((wall) => limitHours(wall))]);
    // A retired stylus is given no dates, and a row without any says nothing.
    if (course.habit !== null && walls.some((wall) => wall?.limit?.dates))
      rows.push([`At ${habitText(course.habit)}`, each((wall) => limitDates(wall))]);
  }
  return (
    <>
      <Sentences course={course} />
      <table className="law-table">
        <caption>
          {
            'Wear law wⁿ − w₀ⁿ = c t, with errors in both the width and the hours. A straight line would be wrong: twice the hours add a fifth to a quarter.'
          }
        </caption>
        <thead>
          <tr>
            <th scope="col">Wear law</th>
            <th scope="col">Left wall</th>
            <th scope="col">Right wall</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, [left, right]]) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              <td>{left}</td>
              <td>{right}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <BandTable course={course} unit={unit} />
    </>
  );
}

const PLAIN = { factor: 1, symbol: '' };

function Sentences({ course }: { readonly course: WearCourse }) {
  return course.sentences.map((sentence) => (
    <p key={sentence} className="notice">
      {sentence}
    </p>
  ));
}

/** c spans decades, so its range says more than a ±. */
function rateText({ value, low, high }: Measured): string {
  const digits = (x: number): string => (x >= 100 ? grouped(x) : String(Number(x.toPrecision(2))));
  return low === undefined || high === undefined
    ? digits(value)
    : `${digits(value)} (${digits(low)} to ${digits(high)})`;
}

export function limitHours({ limit }: WallCourse): string {
  if (limit === null) return '';
  const { low, high } = limit.hours;
  if (low === null) return 'not within any hours to be foreseen';
  if (high === 0) return 'passed before the daybook began';
  const from = formatHours(tidy(low));
  return high === null ? `${from} at the earliest, perhaps never` : `${from} to ${formatHours(tidy(high))}`;
}

/** Two significant digits: a forecast has no more. */
const tidy = (hours: number): number => Number(hours.toPrecision(2));

/** A date decades ahead is no day: it is said by its month or year. */
export function limitDates({ limit }: WallCourse, now: string = today()): string {
  if (limit === null || limit.dates === null) return '';
  const { low, high } = limit.dates;
  if (low === null) return 'in more than 50 years, or never';
  return high === null
    ? `${forecastWords(low, now)} at the earliest, perhaps never`
    : forecastRange(low, high, now);
}

export function habitText({ hoursPerWeek, from }: NonNullable<WearCourse['habit']>): string {
  const source = {
    'weekly habit': 'your weekly habit',
    'last half year': 'mean of the last half year',
    'since it began': 'mean since it began',
  };
  return `${Number(hoursPerWeek.toPrecision(2))}${NBSP}h a week (${source[from]})`;
}

function BandTable({ course, unit }: { readonly course: WearCourse; readonly unit: LengthUnit }) {
  const walls = [course.left, course.right];
  const shown = lengthUnit(unit);
  const last = Math.max(...walls.map((wall) => wall?.band.at(-1)?.hours ?? 0));
  const step = [10, 25, 50, 100, 250, 500, 1000, 2500].find((s) => last / s <= 12) ?? 5000;
  const hours = Array.from({ length: Math.floor(last / step) + 1 }, (_, i) => i * step);
  const cell = (wall: WallCourse | null, at: number): string => {
    const found = wall === null ? null : bandAt(wall, at);
    if (found === null) return 'no law';
    const length = (um: number): string => (um * shown.factor).toFixed(unit === 'mil' ? 3 : 1);
    return `${length(found.value)} (${length(found.low)} to ${length(found.high)})${NBSP}${shown.symbol}`;
  };
  return (
    <details className="twin">
      <summary>The law and its band as a table</summary>
      <table>
        <thead>
          <tr>
            <th scope="col">Hours</th>
            <th scope="col">Left wall</th>
            <th scope="col">Right wall</th>
          </tr>
        </thead>
        <tbody>
          {hours.map((at) => (
            <tr key={at}>
              <th scope="row">{formatHours(at)}</th>
              <td>{cell(course.left, at)}</td>
              <td>{cell(course.right, at)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p className="hint">{`Middle of the law, in brackets the band that holds the true width in 95${NBSP}% of cases.`}</p>
    </details>
  );
}

type Sample = WallCourse['band'][number];

/** Between two samples along the straight line; they lie close. */
export function bandAt({ band }: WallCourse, hours: number): Sample | null {
  const next = band.findIndex((sample) => sample.hours >= hours);
  if (next === -1) return null;
  if (next === 0) return band[0];
  const [a, b] = [band[next - 1], band[next]];
  const share = (hours - a.hours) / (b.hours - a.hours);
  const mix = (p: number, q: number): number => p + share * (q - p);
  return { hours, value: mix(a.value, b.value), low: mix(a.low, b.low), high: mix(a.high, b.high) };
}

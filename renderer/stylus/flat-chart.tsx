import { hoursShown, ownLimitHours } from '../../core/wear/hours-axis.ts';
import type { WearCourse } from '../../shared/index.ts';
import { grouped, lengthUnit, NBSP, type LengthUnit } from '../format.ts';
import type { FlatPoint } from './chart-data.ts';
import { FlatTable } from './flat-table.tsx';
import { LawTable } from './law-table.tsx';
import { Shape, upper, WearPanel } from './wear-panel.tsx';

type ChartProps = {
  readonly points: readonly FlatPoint[];
  /** The fitted law; null while it is not there. */
  readonly course: WearCourse | null;
  readonly unit: LengthUnit;
  readonly width: number;
  /** The person's own limit, um. */
  readonly limitUm: number | null;
  readonly practiceHours: readonly [number, number];
  /** False when the hours before the daybook are unknown: the axis then counts from its start. */
  readonly hoursKnown: boolean;
};

const SIDES = ['left', 'right'] as const;
/** From this width on the two walls stand side by side. */
const WIDE = 760;
const GAP = 16;

/** Flat width against playing time, left and right apart; a limit is never drawn as a value. */
export function FlatChart(props: ChartProps) {
  const { points, course, unit, width, limitUm, practiceHours, hoursKnown } = props;
  const placed = points.filter((point) => point.hours !== null);
  if (points.length === 0) return null;
  const panel = width >= WIDE ? Math.floor((width - GAP) / 2) : width;
  const domain = ends(placed, props);
  return (
    <figure className="chart">
      <Legend
        limit={limitUm !== null}
        practice={practiceHours}
        practiceSeen={practiceHours[0] < domain[0]}
        law={SIDES.some((side) => (course?.[side] ?? null) !== null)}
      />
      <div className="chart-panels">
        {SIDES.map((side) => (
          <WearPanel
            key={side}
            side={side}
            points={placed.filter((point) => point.side === side)}
            wall={course?.[side] ?? null}
            width={panel}
            {...lengthUnit(unit)}
            limitUm={limitUm}
            practiceHours={practiceHours}
            hoursKnown={hoursKnown}
            hoursNow={course?.hoursNow ?? null}
            domain={domain}
          />
        ))}
      </div>
      {course !== null && <LawTable course={course} unit={unit} limitUm={limitUm} />}
      <FlatTable points={points} unit={unit} hoursKnown={hoursKnown} />
    </figure>
  );
}

/** Both walls on the same axes, hours and um. A band that runs away does not squeeze the points into the bottom. */
function ends(
  placed: readonly FlatPoint[],
  { course, limitUm, practiceHours }: ChartProps,
): readonly [number, number] {
  const walls = SIDES.flatMap((side) => course?.[side] ?? []);
  const last = Math.max(0, course?.hoursNow ?? 0, ...placed.map((point) => point.hours ?? 0));
  const hours = hoursShown(last, [...ownLimitHours(walls), ...practiceHours]);
  const tops = placed.map((point) => (point.detected ? upper(point) : point.limitUm));
  const most = Math.max(4, limitUm ?? 0, ...tops);
  const forecast = walls.flatMap((wall) => wall.band.filter((s) => s.hours <= hours).at(-1)?.high ?? []);
  return [hours, Math.max(most * 1.15, Math.min(1.7 * most, ...forecast.map((high) => high * 1.05)))];
}

function Legend(props: {
  limit: boolean;
  practice: readonly [number, number];
  practiceSeen: boolean;
  law: boolean;
}) {
  const { limit, practice, practiceSeen, law } = props;
  return (
    <figcaption className="legend">
      {SIDES.map((side) => (
        <span key={side}>
          <svg width="14" height="14" viewBox="0 0 14 14" className={`mark mark-${side}`} aria-hidden="true">
            <Shape side={side} x={7} y={7} />
          </svg>
          {side} wall, bars: about 95{NBSP}%
        </span>
      ))}
      <span>
        <svg width="14" height="14" viewBox="0 0 14 14" className="mark" aria-hidden="true">
          <path d="M1 2h12M7 2v9m-3 -3.5l3 3.5l3 -3.5" />
        </svg>
        not detected: below the bar
      </span>
      {law && (
        <span>
          <i className="legend-band" aria-hidden="true" />
          {`wear law with the band that holds the true width in 95${NBSP}% of cases; broken line: forecast`}
        </span>
      )}
      <span>
        <i className="legend-hatch" aria-hidden="true" />
        {`common practice ${grouped(practice[0])} to ${grouped(practice[1])}${NBSP}h, no standard${practiceSeen ? '' : ': beyond the right edge'}`}
      </span>
      {limit && (
        <span>
          <i className="legend-limit" aria-hidden="true" />
          your own limit; thick: hours between which the law reaches it
        </span>
      )}
    </figcaption>
  );
}

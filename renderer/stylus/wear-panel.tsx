import { scaleLinear, type ScaleLinear } from 'd3-scale';
import { area, curveMonotoneX, line } from 'd3-shape';
import type { WallCourse } from '../../shared/index.ts';
import { grouped } from '../format.ts';
import type { FlatPoint } from './chart-data.ts';

/** Flat width of one wall against playing time: points with both error bars, the law's band, limit and practice. */
export type PanelProps = {
  readonly side: 'left' | 'right';
  readonly points: readonly FlatPoint[];
  readonly wall: WallCourse | null;
  readonly width: number;
  /** Length on screen for one um, and its name. */
  readonly factor: number;
  readonly symbol: string;
  readonly limitUm: number | null;
  readonly practiceHours: readonly [number, number];
  readonly hoursKnown: boolean;
  readonly hoursNow: number | null;
  /** Ends of the axes, shared by both walls: hours, um. */
  readonly domain: readonly [number, number];
};

const HEIGHT = 300;
const EDGE = { top: 30, right: 14, bottom: 46, left: 52, inner: 10 };
type Axis = ScaleLinear<number, number>;

export const upper = ({ width }: FlatPoint): number => width.high ?? width.value + width.expanded;
export const lower = ({ width }: FlatPoint): number => Math.max(0, width.low ?? width.value - width.expanded);

export function WearPanel(props: PanelProps) {
  const { side, points, wall, width, factor, symbol, limitUm, domain, hoursNow } = props;
  const x = scaleLinear()
    .domain([0, domain[0]])
    .range([EDGE.left + EDGE.inner, Math.max(EDGE.left + 80, width - EDGE.right)]);
  const y = scaleLinear()
    .domain([0, domain[1] * factor])
    .nice()
    .range([HEIGHT - EDGE.bottom, EDGE.top]);
  const clip = `wear-clip-${side}`;
  const last = Math.max(0, ...points.map((point) => point.hours ?? 0));
  return (
    <svg
      viewBox={`0 0 ${width} ${HEIGHT}`}
      width={width}
      height={HEIGHT}
      role="img"
      aria-label={`${side === 'left' ? 'Left' : 'Right'} wall: flat width against playing time, ${points.length} points${wall === null ? '' : ', with the fitted wear law'}. The tables below have every value.`}
    >
      <clipPath id={clip}>
        <rect
          x={EDGE.left}
          y={EDGE.top}
          width={Math.max(0, width - EDGE.right - EDGE.left)}
          height={HEIGHT - EDGE.bottom - EDGE.top}
        />
      </clipPath>
      <Practice side={side} x={x} practiceHours={props.practiceHours} />
      <Axes {...{ side, x, y, symbol, width, hoursKnown: props.hoursKnown }} />
      {wall !== null && (
        <g clipPath={`url(#${clip})`} className={`law law-${side}`}>
          <Band wall={wall} x={x} y={y} factor={factor} last={last} />
        </g>
      )}
      {hoursNow !== null && hoursNow <= domain[0] && <Now at={x(hoursNow)} />}
      {limitUm !== null && <OwnLimit x={x} at={y(limitUm * factor)} wall={wall} side={side} />}
      <Marks points={points} x={x} y={y} factor={factor} side={side} />
    </svg>
  );
}

function Axes(props: {
  side: 'left' | 'right';
  x: Axis;
  y: Axis;
  symbol: string;
  width: number;
  hoursKnown: boolean;
}) {
  const { side, x, y, symbol, width, hoursKnown } = props;
  const left = EDGE.left;
  const [, right] = x.range();
  const [bottom] = y.range();
  return (
    <g className="chart-axes">
      {y.ticks(5).map((tick) => (
        <g key={tick}>
          <line x1={left} x2={right} y1={y(tick)} y2={y(tick)} className="chart-grid" />
          <text x={left - 8} y={y(tick)} dy="0.35em" textAnchor="end">
            {tick}
          </text>
        </g>
      ))}
      {x.ticks(Math.max(3, Math.floor(width / 100))).map((tick) => (
        <g key={tick}>
          <line x1={x(tick)} x2={x(tick)} y1={bottom} y2={bottom + 5} className="chart-line" />
          <text x={x(tick)} y={bottom + 19} textAnchor="middle">
            {grouped(tick)}
          </text>
        </g>
      ))}
      <line x1={left} x2={right} y1={bottom} y2={bottom} className="chart-line" />
      <text x={right} y={bottom + 38} textAnchor="end">
        {hoursKnown ? 'playing time, h' : 'hours since the daybook began (earlier hours unknown)'}
      </text>
      <text x={8} y={14}>{`${side} wall: flat width, ${symbol}`}</text>
    </g>
  );
}

/** Common practice in hours: a hatched band, so that it reads in grey as well. */
function Practice(props: { side: string; x: Axis; practiceHours: readonly [number, number] }) {
  const { side, x, practiceHours } = props;
  const [, right] = x.range();
  const start = x(practiceHours[0]);
  if (start >= right) return null;
  const bottom = HEIGHT - EDGE.bottom;
  const id = `practice-hatch-${side}`;
  return (
    <g className="chart-practice">
      <defs>
        <pattern id={id} width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <line x1="0" x2="0" y1="0" y2="8" />
        </pattern>
      </defs>
      <rect
        x={start}
        y={EDGE.top}
        width={Math.min(right, x(practiceHours[1])) - start}
        height={bottom - EDGE.top}
        fill={`url(#${id})`}
      />
      <line x1={start} x2={start} y1={EDGE.top} y2={bottom} />
    </g>
  );
}

type Sample = WallCourse['band'][number];

/** The middle is drawn through as far as there are points, and broken where it is a forecast. */
function Band(props: { wall: WallCourse; x: Axis; y: Axis; factor: number; last: number }) {
  const { wall, x, y, factor, last } = props;
  const between = area<Sample>()
    .x((s) => x(s.hours))
    .y0((s) => y(s.low * factor))
    .y1((s) => y(s.high * factor))
    .curve(curveMonotoneX);
  const along = (pick: (s: Sample) => number) =>
    line<Sample>()
      .x((s) => x(s.hours))
      .y((s) => y(pick(s) * factor))
      .curve(curveMonotoneX);
  const seen = wall.band.filter((s) => s.hours <= last);
  const later = wall.band.slice(Math.max(0, seen.length - 1));
  const middle = along((s) => s.value);
  return (
    <>
      <path className="law-band" d={between(wall.band) ?? ''} />
      <path className="law-edge" d={along((s) => s.low)(wall.band) ?? ''} />
      <path className="law-edge" d={along((s) => s.high)(wall.band) ?? ''} />
      <path className="law-middle" d={middle(seen) ?? ''} />
      <path className="law-middle law-forecast" d={middle(later) ?? ''} />
    </>
  );
}

function Now({ at }: { at: number }) {
  return (
    <g className="chart-now">
      <line x1={at} x2={at} y1={EDGE.top} y2={HEIGHT - EDGE.bottom} />
      <text x={at + 4} y={EDGE.top + 10}>
        now
      </text>
    </g>
  );
}

/** The person's own limit, and between which hours the law reaches it. */
function OwnLimit(props: { x: Axis; at: number; wall: WallCourse | null; side: string }) {
  const { x, at, wall, side } = props;
  const left = EDGE.left;
  const [, right] = x.range();
  const hours = wall?.limit?.hours ?? null;
  const from = hours?.low === null || hours === null ? null : x(hours.low);
  const to = hours === null ? null : Math.min(right, hours.high === null ? right : x(hours.high));
  return (
    <g className="chart-limit">
      <line x1={left} x2={right} y1={at} y2={at} />
      <text x={left + 6} y={at - 6}>
        your limit
      </text>
      {from !== null && to !== null && from < right && (
        <path
          className={`limit-range limit-range-${side}`}
          d={`M${from} ${at - 5}v10M${from} ${at}H${to}${hours?.high !== null && to < right ? 'm0 -5v10' : ''}`}
        />
      )}
    </g>
  );
}

type Scales = { readonly x: Axis; readonly y: Axis; readonly factor: number };

/** The arrow of a flat that was not detected, at its limit. */
function belowPath(point: FlatPoint, { x, y, factor }: Scales): string {
  const at = x(point.hours ?? 0);
  const limit = y(point.limitUm * factor);
  return `M${at - 6} ${limit}h12M${at} ${limit}v12m-3.5 -4l3.5 4l3.5 -4`;
}

/** Both error bars of a width. */
function barsPath(point: FlatPoint, { x, y, factor }: Scales): string {
  const hours = point.hours ?? 0;
  const at = x(hours);
  const middle = y(point.width.value * factor);
  const high = y(upper(point) * factor);
  const low = y(lower(point) * factor);
  // Two standard uncertainties to each side, as for the width.
  const before = x(Math.max(0, hours - 2 * point.hoursStandard));
  const after = Math.min(x.range()[1], x(hours + 2 * point.hoursStandard));
  const across =
    after - before > 2
      ? `M${before} ${middle}H${after}M${before} ${middle - 4}v8M${after} ${middle - 4}v8`
      : '';
  return `M${at} ${high}V${low}M${at - 4} ${high}h8M${at - 4} ${low}h8${across}`;
}

/**
 * From so many on, all of one kind are drawn as one shape: hundreds of elements are half of the time in which a page
 * opens, twice, because they all move when the fitted law arrives.
 */
const MANY = 60;

function Marks(props: Scales & { readonly points: readonly FlatPoint[]; readonly side: 'left' | 'right' }) {
  const { points, side, x, y, factor } = props;
  if (points.length < MANY)
    return points.map((point) => <Mark key={point.captureId} point={point} x={x} y={y} factor={factor} />);
  const below = points.filter(({ detected }) => !detected);
  const seen = points.filter(({ detected }) => detected);
  const shape = (point: FlatPoint): string =>
    shapePath(side, x(point.hours ?? 0), y(point.width.value * factor));
  return (
    <>
      <g className={`mark mark-${side} mark-below`}>
        <path d={below.map((point) => belowPath(point, props)).join('')} />
      </g>
      <g className={`mark mark-${side}`}>
        <path d={seen.map((point) => barsPath(point, props)).join('')} />
        <path d={seen.map(shape).join('')} className={side === 'left' ? 'mark-solid' : 'mark-open'} />
      </g>
    </>
  );
}

function Mark(props: Scales & { readonly point: FlatPoint }) {
  const { point, x, y, factor } = props;
  if (!point.detected)
    return (
      <g className={`mark mark-${point.side} mark-below`}>
        <path d={belowPath(point, props)} />
      </g>
    );
  return (
    <g className={`mark mark-${point.side}`}>
      <path d={barsPath(point, props)} />
      <Shape side={point.side} x={x(point.hours ?? 0)} y={y(point.width.value * factor)} />
    </g>
  );
}

/** A full circle left, an open diamond right. */
const shapePath = (side: 'left' | 'right', x: number, y: number): string =>
  side === 'left'
    ? `M${x - 4.5} ${y}a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0 -9 0z`
    : `M${x} ${y - 5.5}l5.5 5.5l-5.5 5.5l-5.5 -5.5z`;

export function Shape({ side, x, y }: { side: 'left' | 'right'; x: number; y: number }) {
  return side === 'left' ? (
    <circle cx={x} cy={y} r={4.5} className="mark-solid" />
  ) : (
    <path d={shapePath(side, x, y)} className="mark-open" />
  );
}

import { scaleLinear, type ScaleLinear } from 'd3-scale';
import { grouped, lengthUnit, NBSP, type LengthUnit } from '../format.ts';
import type { FlatPoint } from './chart-data.ts';
import { FlatTable } from './flat-table.tsx';

type ChartProps = {
  readonly points: readonly FlatPoint[];
  readonly unit: LengthUnit;
  readonly width: number;
  /** The person's own limit, um. */
  readonly limitUm: number | null;
  readonly practiceHours: readonly [number, number];
  /** False when the hours before the daybook are unknown: the axis then counts from its start. */
  readonly hoursKnown: boolean;
};

const HEIGHT = 300;
const EDGE = { top: 26, right: 16, bottom: 46, left: 58, inner: 16 };

/** Flat width against playing time. Left and right differ by shape and colour; a limit is never drawn as a value. */
export function FlatChart(props: ChartProps) {
  const { points, unit, width, limitUm, practiceHours, hoursKnown } = props;
  const placed = points.filter((point) => point.hours !== null);
  if (points.length === 0) return null;
  const { factor, symbol } = lengthUnit(unit);
  const lastHours = Math.max(0, ...placed.map((point) => point.hours ?? 0));
  const x = scaleLinear()
    .domain([0, Math.max(lastHours * 1.1, practiceHours[0] * 1.12)])
    .range([EDGE.left + EDGE.inner, Math.max(EDGE.left + 80, width - EDGE.right)]);
  const tops = placed.map((point) => (point.detected ? upper(point) : point.limitUm));
  const y = scaleLinear()
    .domain([0, Math.max(4, limitUm ?? 0, ...tops) * 1.15 * factor])
    .nice()
    .range([HEIGHT - EDGE.bottom, EDGE.top]);
  return (
    <figure className="chart">
      <Legend limit={limitUm !== null} practice={practiceHours} />
      <svg
        viewBox={`0 0 ${width} ${HEIGHT}`}
        width={width}
        height={HEIGHT}
        role="img"
        aria-label={`Flat width against playing time, ${placed.length} points. The table below has every value.`}
      >
        <Practice x={x} practiceHours={practiceHours} />
        <Axes x={x} y={y} symbol={symbol} width={width} hoursKnown={hoursKnown} />
        {limitUm !== null && <OwnLimit x={x} at={y(limitUm * factor)} />}
        {placed.map((point) => (
          <Mark key={`${point.captureId}${point.side}`} point={point} x={x} y={y} factor={factor} />
        ))}
      </svg>
      <FlatTable points={points} unit={unit} hoursKnown={hoursKnown} />
    </figure>
  );
}

type Axis = ScaleLinear<number, number>;
const upper = ({ width }: FlatPoint): number => width.high ?? width.value + width.expanded;
const lower = ({ width }: FlatPoint): number => Math.max(0, width.low ?? width.value - width.expanded);

function Axes(props: { x: Axis; y: Axis; symbol: string; width: number; hoursKnown: boolean }) {
  const { x, y, symbol, width, hoursKnown } = props;
  const left = EDGE.left;
  const [, right] = x.range();
  const [bottom] = y.range();
  const ticks = x.ticks(Math.max(3, Math.floor(width / 110)));
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
      {ticks.map((tick) => (
        <g key={tick}>
          <line x1={x(tick)} x2={x(tick)} y1={bottom} y2={bottom + 5} className="chart-line" />
          <text x={x(tick)} y={bottom + 19} textAnchor="middle">
            {grouped(tick)}
          </text>
        </g>
      ))}
      <line x1={left} x2={right} y1={bottom} y2={bottom} className="chart-line" />
      <text x={right} y={bottom + 38} textAnchor="end">
        {hoursKnown ? 'playing time, h' : 'playing time since the daybook began, h (earlier hours unknown)'}
      </text>
      <text x={8} y={14}>{`flat width, ${symbol}`}</text>
    </g>
  );
}

/** Common practice in hours: a hatched band, so that it reads in grey as well. */
function Practice({ x, practiceHours }: { x: Axis; practiceHours: readonly [number, number] }) {
  const [from, to] = practiceHours;
  const [, right] = x.range();
  const start = x(from);
  const end = Math.min(right, x(to));
  if (start >= right) return null;
  const bottom = HEIGHT - EDGE.bottom;
  return (
    <g className="chart-practice">
      <defs>
        <pattern
          id="practice-hatch"
          width="8"
          height="8"
          patternUnits="userSpaceOnUse"
          patternTransform="rotate(45)"
        >
          <line x1="0" x2="0" y1="0" y2="8" />
        </pattern>
      </defs>
      <rect
        x={start}
        y={EDGE.top}
        width={end - start}
        height={bottom - EDGE.top}
        fill="url(#practice-hatch)"
      />
      <line x1={start} x2={start} y1={EDGE.top} y2={bottom} />
    </g>
  );
}

function OwnLimit({ x, at }: { x: Axis; at: number }) {
  const left = EDGE.left;
  const [, right] = x.range();
  return (
    <g className="chart-limit">
      <line x1={left} x2={right} y1={at} y2={at} />
      <text x={left + 6} y={at - 6}>
        your limit
      </text>
    </g>
  );
}

function Mark(props: { point: FlatPoint; x: Axis; y: Axis; factor: number }) {
  const { point, x, y, factor } = props;
  const apart = point.detected ? 4 : 7.5;
  const at = x(point.hours ?? 0) + (point.side === 'left' ? -apart : apart);
  if (!point.detected) {
    const limit = y(point.limitUm * factor);
    return (
      <g className={`mark mark-${point.side} mark-below`}>
        <path
          d={`M${at - 6} ${limit}h12M${at} ${limit}v12m-3.5 -4l3.5 4l3.5 -4`}
          className={point.side === 'right' ? 'mark-dashed' : ''}
        />
      </g>
    );
  }
  const middle = y(point.width.value * factor);
  const high = y(upper(point) * factor);
  const low = y(lower(point) * factor);
  return (
    <g className={`mark mark-${point.side}`}>
      <path d={`M${at} ${high}V${low}M${at - 4} ${high}h8M${at - 4} ${low}h8`} />
      <Shape side={point.side} x={at} y={middle} />
    </g>
  );
}

function Shape({ side, x, y }: { side: 'left' | 'right'; x: number; y: number }) {
  return side === 'left' ? (
    <circle cx={x} cy={y} r={4.5} className="mark-solid" />
  ) : (
    <path d={`M${x} ${y - 5.5}l5.5 5.5l-5.5 5.5l-5.5 -5.5z`} className="mark-open" />
  );
}

function Legend({ limit, practice }: { limit: boolean; practice: readonly [number, number] }) {
  return (
    <figcaption className="legend">
      {(['left', 'right'] as const).map((side) => (
        <span key={side}>
          <svg width="14" height="14" viewBox="0 0 14 14" className={`mark mark-${side}`} aria-hidden="true">
            <Shape side={side} x={7} y={7} />
          </svg>
          {side} wall
        </span>
      ))}
      <span>
        <svg width="14" height="14" viewBox="0 0 14 14" className="mark" aria-hidden="true">
          <path d="M1 2h12M7 2v9m-3 -3.5l3 3.5l3 -3.5" />
        </svg>
        not detected: below the bar
      </span>
      <span>
        <i className="legend-hatch" aria-hidden="true" />
        {`common practice ${practice[0]} to ${practice[1]}${NBSP}h, no standard`}
      </span>
      {limit && (
        <span>
          <i className="legend-limit" aria-hidden="true" />
          your own limit
        </span>
      )}
    </figcaption>
  );
}

import { scaleLinear } from 'd3-scale';
import { area, line } from 'd3-shape';
import { useMemo, type PointerEvent } from 'react';
import { useStore } from 'zustand';
import { formatMeasured, lengthUnit, type LengthUnit, type ReportUnit, type Shown } from '../format.ts';
import { LiveNumberField } from '../ui/fields.tsx';
import { benchStore } from './bench-state.ts';

/** [polar angle, recession in um (growth negative), expanded uncertainty] */
export type Profile = readonly (readonly [number, number, number])[];
type PlotProps = {
  readonly profile: Profile;
  readonly unit: LengthUnit;
  readonly counted: ReportUnit;
  readonly width: number;
  /** What the profile was measured against: the baseline, or the fitted unworn shape. */
  readonly against: string;
};

const HEIGHT = 190;
const EDGE = { top: 26, right: 12, bottom: 38, left: 48 };

/** Beyond these angles lie the shank's sides, where nothing of the tip is measured. */
const LOWEST_DEG = -60;
const HIGHEST_DEG = 240;

/** In order of the angle around the tip, counted without a jump from the right side over the apex to the left. */
export function aroundTip(profile: Profile): Profile {
  return profile
    .map(([angle, value, expanded]) => [angle < -90 ? angle + 360 : angle, value, expanded] as const)
    .filter(([angle]) => angle >= LOWEST_DEG && angle <= HIGHEST_DEG)
    .toSorted((a, b) => a[0] - b[0]);
}

/** Material gone (up) or added (down) around the tip, left wall on the left as in the picture. */
export function ProfilePlot(props: PlotProps) {
  const { unit, counted, width, against } = props;
  const profile = useMemo(() => aroundTip(props.profile), [props.profile]);
  const probe = useStore(benchStore, (state) => state.probeDeg);
  if (profile.length < 2) return null;
  const shown = lengthUnit(unit, counted);
  const angles = profile.map(([angle]) => angle);
  const low = Math.min(...angles);
  const high = Math.max(...angles);
  const x = scaleLinear()
    .domain([high, low])
    .range([EDGE.left, Math.max(EDGE.left + 80, width - EDGE.right)]);
  const ends = profile.flatMap(([, value, U]) => [value - U, value + U]);
  const y = scaleLinear()
    .domain([Math.min(-0.5, ...ends) * shown.factor, Math.max(1, ...ends) * shown.factor])
    .nice()
    .range([HEIGHT - EDGE.bottom, EDGE.top]);
  const choose = (event: PointerEvent<SVGSVGElement>): void => {
    const box = event.currentTarget.getBoundingClientRect();
    const angle = x.invert(((event.clientX - box.left) / box.width) * width);
    benchStore.setState({ probeDeg: Math.round(Math.min(high, Math.max(low, angle)) * 2) / 2 });
  };
  const band = area<Profile[number]>()
    .x(([angle]) => x(angle))
    .y0(([, value, U]) => y((value - U) * shown.factor))
    .y1(([, value, U]) => y((value + U) * shown.factor));
  const curve = line<Profile[number]>()
    .x(([angle]) => x(angle))
    .y(([, value]) => y(value * shown.factor));
  return (
    <figure className="chart profile">
      <figcaption className="legend">
        <span>{`Recession around the tip, against ${against}; the band is the expanded uncertainty`}</span>
      </figcaption>
      <svg
        viewBox={`0 0 ${width} ${HEIGHT}`}
        width={width}
        height={HEIGHT}
        role="img"
        aria-label={`Recession profile from ${Math.round(low)} to ${Math.round(high)} degrees. The angle field below gives every value.`}
        onPointerDown={choose}
        onPointerMove={(event) =>
          event.buttons !== 0 ? choose(event) : event.pointerType === 'mouse' && choose(event)
        }
      >
        <Axes x={x} y={y} symbol={shown.symbol} />
        <path d={band(profile as Profile[number][]) ?? ''} className="profile-band" />
        <path d={curve(profile as Profile[number][]) ?? ''} className="profile-line" />
        {probe !== null && probe >= low && probe <= high && (
          <line
            x1={x(probe)}
            x2={x(probe)}
            y1={EDGE.top}
            y2={HEIGHT - EDGE.bottom}
            className="profile-probe"
          />
        )}
      </svg>
      <Probe profile={profile} shown={shown} low={low} high={high} />
    </figure>
  );
}

type Axis = ReturnType<typeof scaleLinear<number, number>>;

function Axes({ x, y, symbol }: { readonly x: Axis; readonly y: Axis; readonly symbol: string }) {
  const [left, right] = x.range();
  const [bottom] = y.range();
  const [high, low] = x.domain();
  const marks: [number, string][] = [
    [180, '180°'],
    [135, '135° left wall'],
    [90, '90° apex'],
    [45, '45° right wall'],
    [0, '0°'],
  ];
  return (
    <g className="chart-axes">
      {y.ticks(4).map((tick) => (
        <g key={tick}>
          <line
            x1={left}
            x2={right}
            y1={y(tick)}
            y2={y(tick)}
            className={tick === 0 ? 'chart-line' : 'chart-grid'}
          />
          <text x={left - 8} y={y(tick)} dy="0.35em" textAnchor="end">
            {String(tick).replace('-', '−')}
          </text>
        </g>
      ))}
      {marks
        .filter(([angle]) => angle <= high && angle >= low)
        .map(([angle, name]) => (
          <g key={angle}>
            <line x1={x(angle)} x2={x(angle)} y1={EDGE.top} y2={bottom} className="chart-grid" />
            <text x={x(angle)} y={bottom + 18} textAnchor="middle">
              {name}
            </text>
          </g>
        ))}
      <text x={4} y={12}>{`gone, ${symbol}`}</text>
      <text x={right} y={bottom + 34} textAnchor="end">
        polar angle in the tip frame
      </text>
    </g>
  );
}

/** The profile's value at an angle, between its two neighbours; null beyond its ends. */
export function profileAt(profile: Profile, degrees: number): readonly [number, number] | null {
  for (let i = 1; i < profile.length; i += 1) {
    const [a, value, U] = profile[i - 1];
    const [b, nextValue, nextU] = profile[i];
    if ((degrees - a) * (degrees - b) > 0) continue;
    const t = a === b ? 0 : (degrees - a) / (b - a);
    return [value + t * (nextValue - value), U + t * (nextU - U)];
  }
  return null;
}

type ProbeProps = {
  readonly profile: Profile;
  readonly shown: Shown;
  readonly low: number;
  readonly high: number;
};

function Probe({ profile, shown, low, high }: ProbeProps) {
  const probe = useStore(benchStore, (state) => state.probeDeg);
  const set = (probeDeg: number): void => benchStore.setState({ probeDeg });
  const found = probe === null ? null : profileAt(profile, probe);
  return (
    <div className="probe">
      <input
        type="range"
        aria-label="Angle around the tip, slider"
        // The plot has large angles on the left; the slider runs the same way.
        className="range-reversed"
        min={Math.ceil(low)}
        max={Math.floor(high)}
        step={0.5}
        value={probe ?? 90}
        onChange={(event) => set(Number(event.target.value))}
      />
      <LiveNumberField label="At angle" suffix="°" min={low} max={high} value={probe} onChange={set} />
      <output className="probe-value">
        {found === null ? 'point at the plot or the tip' : probeText(found, shown)}
      </output>
    </div>
  );
}

function probeText([value, expanded]: readonly [number, number], shown: Shown): string {
  if (Math.abs(value) <= expanded) return `${formatMeasured({ value, expanded }, shown)}: nothing certain`;
  return `${formatMeasured({ value: Math.abs(value), expanded }, shown)} ${value > 0 ? 'gone' : 'added'}`;
}

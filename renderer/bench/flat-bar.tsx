import type { Measured } from '../../shared/index.ts';
import { useWidth } from '../ui/use-width.ts';

type BarProps = {
  readonly flat: Measured;
  readonly detected: boolean;
  readonly limit: number;
  /** What the full width stands for; the same for both walls, so that they can be told apart by eye. */
  readonly most: number;
  readonly side: 'left' | 'right';
};

/** One flat on a scale: hatched is what could be there unseen. Decoration of the text above it. */
export function FlatBar({ flat, detected, limit, most, side }: BarProps) {
  const [ref, width] = useWidth<HTMLDivElement>(320);
  const x = (value: number): number => ((width - 4) * Math.max(0, Math.min(value, most))) / most;
  const low = x(flat.low ?? flat.value - flat.expanded);
  const high = x(flat.high ?? flat.value + flat.expanded);
  const hatch = `flat-hatch-${side}`;
  return (
    <div ref={ref} className={`flat-bar mark-${side}`}>
      <svg width={width} height={22} viewBox={`-2 0 ${width} 22`} aria-hidden="true">
        <defs>
          <pattern
            id={hatch}
            width="6"
            height="6"
            patternUnits="userSpaceOnUse"
            patternTransform="rotate(45)"
          >
            <line x1="0" x2="0" y1="0" y2="6" className="hatch-line" />
          </pattern>
        </defs>
        <rect x={0} y={5} width={x(limit)} height={12} fill={`url(#${hatch})`} />
        <path d={`M${x(limit)} 3v16`} className="bar-limit" />
        <path d={`M0 11h${width - 4}`} className="bar-axis" />
        {detected && (
          <>
            <path d={`M${low} 11H${high}M${low} 6v10M${high} 6v10`} className="bar-range" />
            <circle cx={x(flat.value)} cy={11} r={4.5} className="mark-solid" />
          </>
        )}
      </svg>
    </div>
  );
}

import { useStore } from 'zustand';
import type { Capture } from '../../shared/index.ts';
import { usePicture } from '../state/pictures.ts';
import type { Live } from './live.ts';
import type { Underlay } from './pose-panel.tsx';
import type { Outline } from './protocol.ts';

type UnderlayProps = {
  readonly live: Live;
  readonly baseline: Capture | null;
  readonly underlay: Underlay;
  readonly umPerPx: number | null;
};

/**
 * The baseline in the live frame, centre on centre and in the same size for the same length, and the outline that was
 * just read. What it shows stands as numbers in the panel.
 */
export function UnderlayLayer({ live, baseline, underlay, umPerPx }: UnderlayProps) {
  const { session, reading, baseline: read } = useStore(live.store);
  const { picture } = usePicture(baseline?.id ?? null, 4096);
  const { granted } = session.state;
  if (granted === null || granted.widthPx === 0) return null;
  const { widthPx: width, heightPx: height } = granted;
  const ratio =
    baseline === null
      ? 1
      : umPerPx !== null && baseline.scale !== null
        ? baseline.scale.umPerPx / umPerPx
        : width / baseline.widthPx;
  const shown = baseline === null || underlay.opacity === 0 ? 'nothing' : underlay.as;
  const size = { width: ratio * (baseline?.widthPx ?? 0), height: ratio * (baseline?.heightPx ?? 0) };
  return (
    <svg
      className="live-underlay"
      viewBox={`-0.5 -0.5 ${width} ${height}`}
      preserveAspectRatio="none"
      aria-hidden="true"
    >
      {shown === 'picture' && picture !== null && (
        <image
          href={picture.url}
          x={(width - size.width) / 2 - 0.5}
          y={(height - size.height) / 2 - 0.5}
          width={size.width}
          height={size.height}
          preserveAspectRatio="none"
          opacity={underlay.opacity}
        />
      )}
      {shown === 'contour' && read !== null && (
        <g
          opacity={underlay.opacity}
          transform={`translate(${(width - 1) / 2} ${(height - 1) / 2}) scale(${ratio}) translate(${-(read.width - 1) / 2} ${-(read.height - 1) / 2})`}
        >
          <OutlinePath outline={read.outline} className="outline-baseline" />
        </g>
      )}
      {reading?.ok === true && <OutlinePath outline={reading.outline} className="outline-live" />}
    </svg>
  );
}

/** Two flanks and the arc between them, from the left top over the apex to the right top. */
function OutlinePath({ outline, className }: { readonly outline: Outline; readonly className: string }) {
  const { xPx, yPx, rotationDeg, radiusPx: r, halfDeg, lengthPx } = outline;
  const half = (halfDeg * Math.PI) / 180;
  const foot = { x: r * Math.cos(half), y: r * Math.sin(half) };
  const top = { x: foot.x + lengthPx * Math.sin(half), y: foot.y - lengthPx * Math.cos(half) };
  const path = `M ${-top.x} ${top.y} L ${-foot.x} ${foot.y} A ${r} ${r} 0 0 0 ${foot.x} ${foot.y} L ${top.x} ${top.y}`;
  // An SVG turns clockwise for positive angles.
  const place = `translate(${xPx} ${yPx}) rotate(${-rotationDeg})`;
  return (
    <g transform={place} className={className}>
      <path d={path} className="outline-halo" />
      <path d={path} className="outline-line" />
    </g>
  );
}

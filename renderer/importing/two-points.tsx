// A scrolling area must be reachable by keyboard, and its fields hear the arrow keys of their group.
/* oxlint-disable jsx-a11y/no-noninteractive-tabindex, jsx-a11y/no-noninteractive-element-interactions */
import { useState, type KeyboardEvent, type PointerEvent } from 'react';
import { LiveNumberField } from '../ui/fields.tsx';
import type { Spot } from './scale.ts';

type TwoPointsProps = {
  readonly picture: { readonly url: string; readonly widthPx: number; readonly heightPx: number };
  readonly first: Spot | null;
  readonly second: Spot | null;
  readonly onChange: (first: Spot | null, second: Spot | null) => void;
};

/** CSS pixels that the picture may be high while it fits as a whole. */
const FIT_HEIGHT = 400;
const ZOOMS = [0, 1, 2, 4] as const;
/** Two points in a picture, by click, drag, arrow keys or typed pixel coordinates (centres on whole numbers). */
export function TwoPoints({ picture, first, second, onChange }: TwoPointsProps) {
  const [zoom, setZoom] = useState(0);
  const [held, setHeld] = useState<0 | 1 | null>(null);
  const spots = [first, second] as const;
  const put = (which: 0 | 1, spot: Spot | null): void =>
    which === 0 ? onChange(spot, second) : onChange(first, spot);
  const at = (event: PointerEvent): Spot => {
    const box = event.currentTarget.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * picture.widthPx - 0.5;
    const y = ((event.clientY - box.top) / box.height) * picture.heightPx - 0.5;
    return { x: tenth(clamp(x, picture.widthPx - 1)), y: tenth(clamp(y, picture.heightPx - 1)) };
  };
  const press = (event: PointerEvent<SVGSVGElement>): void => {
    const spot = at(event);
    const which = first === null ? 0 : second === null ? 1 : nearest(spot, first, second);
    event.currentTarget.setPointerCapture(event.pointerId);
    setHeld(which);
    put(which, spot);
  };
  const size =
    zoom === 0
      ? { width: `min(100%, ${Math.round((FIT_HEIGHT * picture.widthPx) / picture.heightPx)}px)` }
      : { width: picture.widthPx * zoom };
  return (
    <div className="two-points">
      <div className="actions" role="group" aria-label="Size of the picture">
        {ZOOMS.map((one) => (
          <button
            key={one}
            type="button"
            className="chip"
            aria-pressed={zoom === one}
            onClick={() => setZoom(one)}
          >
            {one === 0 ? 'Fit' : `${one} ×`}
          </button>
        ))}
      </div>
      <div className="two-points-scroll" tabIndex={0} role="group" aria-label="Picture for the two points">
        <div className="two-points-stage" style={size}>
          <img src={picture.url} alt="" draggable={false} />
          <svg
            viewBox={`-0.5 -0.5 ${picture.widthPx} ${picture.heightPx}`}
            onPointerDown={press}
            onPointerMove={(event) => held !== null && put(held, at(event))}
            onPointerUp={() => setHeld(null)}
            aria-hidden="true"
          >
            {first !== null && second !== null && (
              <line x1={first.x} y1={first.y} x2={second.x} y2={second.y} vectorEffect="non-scaling-stroke" />
            )}
            {spots.map(
              (spot, index) => spot && <Cross key={index} spot={spot} size={picture.widthPx / 60} />,
            )}
          </svg>
        </div>
      </div>
      <p className="hint">
        Click one end, then the other; drag to correct. In a field, the Up and Down keys change it by a pixel,
        with Shift by ten, with Alt by a tenth.
      </p>
      <div className="form form-tight">
        {([0, 1] as const).map((which) => (
          <SpotFields
            key={which}
            name={`Point ${which + 1}`}
            spot={spots[which]}
            onChange={(spot) =>
              put(which, { x: clamp(spot.x, picture.widthPx - 1), y: clamp(spot.y, picture.heightPx - 1) })
            }
          />
        ))}
      </div>
    </div>
  );
}

function SpotFields(props: {
  readonly name: string;
  readonly spot: Spot | null;
  readonly onChange: (spot: Spot) => void;
}) {
  const { name, spot, onChange } = props;
  const typed = (axis: 'x' | 'y', value: number): void =>
    onChange({ x: spot?.x ?? 0, y: spot?.y ?? 0, [axis]: value });
  const nudge = (event: KeyboardEvent): void => {
    const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    const axis = (event.target as HTMLElement).closest<HTMLElement>('[data-axis]')?.dataset['axis'];
    if (way === undefined || (axis !== 'x' && axis !== 'y')) return;
    event.preventDefault();
    const step = event.shiftKey ? 10 : event.altKey ? 0.1 : 1;
    typed(axis, tenth((spot?.[axis] ?? 0) + way * step));
  };
  return (
    <div className="spot" onKeyDown={nudge} role="group" aria-label={name}>
      <div data-axis="x">
        <LiveNumberField
          label={`${name}, x`}
          suffix="px"
          value={spot?.x ?? null}
          onChange={(value) => typed('x', value)}
        />
      </div>
      <div data-axis="y">
        <LiveNumberField
          label={`${name}, y`}
          suffix="px"
          value={spot?.y ?? null}
          onChange={(value) => typed('y', value)}
        />
      </div>
    </div>
  );
}

function Cross({ spot, size }: { readonly spot: Spot; readonly size: number }) {
  return (
    <path
      d={`M${spot.x - size} ${spot.y}h${2 * size}M${spot.x} ${spot.y - size}v${2 * size}`}
      vectorEffect="non-scaling-stroke"
    />
  );
}

const clamp = (value: number, max: number): number => Math.min(max, Math.max(0, value));
const tenth = (value: number): number => Math.round(value * 10) / 10;
const nearest = (spot: Spot, first: Spot, second: Spot): 0 | 1 =>
  Math.hypot(spot.x - first.x, spot.y - first.y) <= Math.hypot(spot.x - second.x, spot.y - second.y) ? 0 : 1;

import { useStore } from 'zustand';
import { formatPlain, lengthUnit, type LengthUnit } from '../format.ts';
import { Line } from '../bench/numbers.tsx';
import type { Live } from './live.ts';

/** More of the window around the tip at full scale than this: the edge loses its bright half. */
const CLIPPED = 0.01;

type MeterProps = {
  readonly live: Live;
  readonly umPerPx: number | null;
  readonly unit: LengthUnit;
  /** Frames that will be averaged: their mean shows smaller flats than a single frame. */
  readonly frames: number;
};

/** Focus and exposure at the tip itself, as the last frame shows them. Not announced: it changes all the time. */
export function MeterPanel({ live, umPerPx, unit, frames }: MeterProps) {
  const { reading, moment, rate } = useStore(live.store);
  const length = (px: number): string => lengthText(px, umPerPx, unit);
  return (
    <section className="panel-part" aria-labelledby="live-meter">
      <h2 id="live-meter">Focus and exposure at the tip</h2>
      {reading === null && <p className="hint">Nothing is read yet.</p>}
      {reading?.ok === false && <p className="hint">{reading.sentence}</p>}
      {reading?.ok === true && (
        <>
          <FocusBar edgePx={reading.edgePx} bestPx={moment?.bestEdgePx ?? null} />
          <dl className="numbers live-numbers">
            <Line
              name="Edge width (10 to 90 %)"
              value={reading.edgePx === null ? 'no edge' : length(reading.edgePx)}
              {...(moment?.bestEdgePx === null || moment === null
                ? {}
                : { note: `sharpest here: ${length(moment.bestEdgePx)}` })}
            />
            <Line
              name="Burnt out around the tip"
              value={formatPlain(100 * reading.clipped, reading.clipped < 0.1 ? 1 : 0, '%')}
              {...(reading.clipped > CLIPPED ? { note: 'too bright: lower the exposure or the light' } : {})}
            />
            <Line
              name="Smallest flat it could show"
              value={flatText(reading.limitPx, umPerPx, unit, frames)}
              note={
                umPerPx === null
                  ? 'in µm once the scale is known'
                  : frames > 1
                    ? `in the mean of ${frames} frames; ${flatText(reading.limitPx, umPerPx, unit, 1)} in one`
                    : 'in one frame'
              }
            />
            <Line name="Noise of one frame" value={formatPlain(255 * reading.noise, 1, 'of 255')} />
          </dl>
          {reading.lit && (
            <p className="notice">
              Lit from the front: rims and glints move with every turn of the lamp, so edge, smallest flat and
              pose are rough here. Light from behind is read well; what counts is examining the kept picture.
            </p>
          )}
          <p className="hint live-rate">{`Read ${formatPlain(rate, 0, '')} times a second.`}</p>
        </>
      )}
    </section>
  );
}

export function lengthText(px: number, umPerPx: number | null, unit: LengthUnit): string {
  if (umPerPx === null) return formatPlain(px, 1, 'px');
  const shown = lengthUnit(unit);
  return formatPlain(px * umPerPx * shown.factor, unit === 'um' ? 1 : 3, shown.symbol);
}

/** The limit goes with the cube root of the noise, and noise with the root of the frames. */
function flatText(limitPx: number | null, umPerPx: number | null, unit: LengthUnit, frames: number): string {
  if (limitPx === null) return 'cannot be told';
  return `about ${lengthText(limitPx * Math.cbrt(1 / Math.sqrt(frames)), umPerPx, unit)}`;
}

/** Full = as sharp as the sharpest edge of the last half minute. The number stands below it. */
function FocusBar({ edgePx, bestPx }: { readonly edgePx: number | null; readonly bestPx: number | null }) {
  const share = edgePx === null || bestPx === null ? 0 : Math.min(1, bestPx / edgePx);
  return (
    <div className="focus-bar" aria-hidden="true">
      <span style={{ width: `${100 * share}%` }} />
    </div>
  );
}

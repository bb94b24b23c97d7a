import { useState } from 'react';
import { useStore } from 'zustand';
import { formatPlain } from '../format.ts';
import { LiveNumberField, TickField } from '../ui/fields.tsx';
import { MODE_LABELS, withinRange, type Control } from './constraints.ts';
import type { Live } from './live.ts';

/** The camera's own controls: only those that it reports, each with what it really is set to. */
export function ControlsPanel({ live }: { readonly live: Live }) {
  const view = useStore(live.store, (state) => state.session);
  const { controls, settings, wishes, held } = view;
  const change = (name: string, value: number | null): void => {
    const { [name]: _left, ...rest } = wishes;
    void live.session.wish(value === null ? rest : { ...rest, [name]: value });
  };
  const automatic = Object.keys(MODE_LABELS).filter(
    (mode) => settings[mode] === 'continuous' || settings[mode] === 'single-shot',
  );
  return (
    <section className="panel-part" aria-labelledby="live-controls">
      <h2 id="live-controls">Controls of the camera</h2>
      {controls.length === 0 && (
        <p className="hint">
          This camera reports no controls. Exposure, white balance and focus are its own; look at the meter
          before you take a picture.
        </p>
      )}
      {automatic.length > 0 && controls.length > 0 && (
        <p className="hint">
          {`Left to the camera: ${automatic.map((mode) => MODE_LABELS[mode].toLowerCase()).join(', ')}. Pictures that are to be compared are best taken with everything held.`}
        </p>
      )}
      {controls.map((control) => (
        <ControlRow
          key={control.name}
          control={control}
          now={settings[control.name]}
          wish={wishes[control.name] ?? null}
          held={held.includes(control.name)}
          onChange={(value) => change(control.name, value)}
        />
      ))}
    </section>
  );
}

type RowProps = {
  readonly control: Control;
  readonly now: number | string | boolean | undefined;
  readonly wish: number | null;
  readonly held: boolean;
  readonly onChange: (value: number | null) => void;
};

function ControlRow({ control, now, wish, held, onChange }: RowProps) {
  const { label, range, unit, factor } = control;
  const current = typeof now === 'number' ? now : range.min;
  // While somebody drags, the slider follows the hand; the camera is asked once it rests.
  const [dragged, setDragged] = useState<number | null>(null);
  const shown = dragged ?? wish ?? current;
  const settle = (): void => {
    if (dragged !== null) onChange(dragged);
    setDragged(null);
  };
  return (
    <div className="live-control">
      <TickField
        label={`Hold ${label.toLowerCase()}`}
        checked={wish !== null}
        onChange={(hold) => onChange(hold ? withinRange(current, range) : null)}
      />
      <input
        type="range"
        aria-label={`${label}, slider`}
        min={range.min}
        max={range.max}
        step={range.step !== undefined && range.step > 0 ? range.step : (range.max - range.min) / 200}
        value={shown}
        onChange={(event) => setDragged(Number(event.target.value))}
        onPointerUp={settle}
        onKeyUp={settle}
        onBlur={settle}
      />
      <LiveNumberField
        label={label}
        suffix={unit}
        min={range.min * factor}
        max={range.max * factor}
        value={Number((shown * factor).toPrecision(6))}
        onChange={(value) => onChange(withinRange(value / factor, range))}
      />
      <p className="hint" role="status">
        {statusOf(wish, held, typeof now === 'number' ? now * factor : null, unit)}
      </p>
    </div>
  );
}

function statusOf(wish: number | null, held: boolean, now: number | null, unit: string): string {
  const value = now === null ? 'nothing' : formatPlain(now, now % 1 === 0 ? 0 : 1, unit);
  if (wish === null) return `Not held; the camera says ${value}`;
  return held ? `Held, read back as ${value}` : `Not held: the camera says ${value}`;
}

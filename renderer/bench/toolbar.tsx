import { ToggleGroup } from 'radix-ui';
import { useStore } from 'zustand';
import { useShallow } from 'zustand/react/shallow';
import { ChoiceField, LiveNumberField, TickField } from '../ui/fields.tsx';
import {
  benchStore,
  changeView,
  chooseWay,
  MOST_TURNS_PER_SECOND,
  normalTurn,
  setTone,
  WAY_WORDS,
  WAYS,
  zoomBy,
  type Way,
} from './bench-state.ts';
import { GAINS } from './difference.ts';
import { prefersCalm } from './turning.ts';

export function WaysOfLooking() {
  const way = useStore(benchStore, (state) => state.way);
  return (
    <ToggleGroup.Root
      type="single"
      className="ways"
      aria-label="Way of looking"
      value={way}
      onValueChange={(value) => value !== '' && chooseWay(value as Way, prefersCalm())}
    >
      {WAYS.map((one, index) => (
        <ToggleGroup.Item
          key={one}
          value={one}
          className="way"
          title={`${WAY_WORDS[one].hint} (${index + 1})`}
        >
          {WAY_WORDS[one].name}
        </ToggleGroup.Item>
      ))}
    </ToggleGroup.Root>
  );
}

/** What the chosen way of looking can be set to; every drag on the stage has its typed twin here. */
export function WayControls() {
  // Without the view: moving the picture must not draw the controls again.
  const state = useStore(
    benchStore,
    useShallow(({ way, turning, showsLater, turnsPerSecond, edgeDeg, edgePercent, gain }) => ({
      way,
      turning,
      showsLater,
      turnsPerSecond,
      edgeDeg,
      edgePercent,
      gain,
    })),
  );
  if (state.way === 'turns')
    return (
      <div className="way-controls">
        <button
          type="button"
          className="button"
          onClick={() => benchStore.setState({ turning: !state.turning })}
        >
          {state.turning ? 'Stop' : 'Start'}
        </button>
        <button
          type="button"
          className="button"
          onClick={() => benchStore.setState({ turning: false, showsLater: !state.showsLater })}
        >
          {state.showsLater ? 'Show the baseline' : 'Show the later one'}
        </button>
        <LiveNumberField
          label="Turns a second"
          hint={`at most ${MOST_TURNS_PER_SECOND}`}
          min={0.2}
          max={MOST_TURNS_PER_SECOND}
          value={state.turnsPerSecond}
          onChange={(turnsPerSecond) => benchStore.setState({ turnsPerSecond })}
        />
      </div>
    );
  if (state.way === 'edge')
    return (
      <div className="way-controls">
        <Ranged
          label="Angle of the edge"
          suffix="°"
          min={-180}
          max={180}
          value={state.edgeDeg}
          onChange={(edgeDeg) => benchStore.setState({ edgeDeg })}
        />
        <Ranged
          label="Place of the edge"
          suffix="%"
          min={-50}
          max={50}
          value={state.edgePercent}
          onChange={(edgePercent) => benchStore.setState({ edgePercent })}
        />
      </div>
    );
  if (state.way === 'difference')
    return (
      <div className="way-controls">
        <ChoiceField
          label="Stretched by"
          value={String(state.gain)}
          choices={GAINS.map((value) => ({ value: String(value), label: `${value} ×` }))}
          onChange={(gain) => benchStore.setState({ gain: Number(gain) })}
        />
      </div>
    );
  return null;
}

function Ranged(props: {
  readonly label: string;
  readonly suffix: string;
  readonly min: number;
  readonly max: number;
  readonly value: number;
  readonly onChange: (value: number) => void;
}) {
  const { label, suffix, min, max, value, onChange } = props;
  return (
    <div className="ranged">
      <input
        type="range"
        aria-label={`${label}, slider`}
        min={min}
        max={max}
        step={0.5}
        value={value}
        onChange={(event) => onChange(Number(event.target.value))}
      />
      <LiveNumberField label={label} suffix={suffix} min={min} max={max} value={value} onChange={onChange} />
    </div>
  );
}

type ViewControlsProps = {
  readonly onTip: (() => void) | null;
  readonly onWhole: () => void;
  readonly onActual: () => void;
  readonly asTakenDeg: number | null;
  readonly single: boolean;
};

export function ViewControls({ onTip, onWhole, onActual, asTakenDeg, single }: ViewControlsProps) {
  const outlines = useStore(benchStore, (state) => state.outlines);
  const walls = useStore(benchStore, (state) => state.walls);
  const turned = useStore(benchStore, (state) => Math.round(state.view.turnDeg * 10) / 10);
  const turn = (turnDeg: number): void => changeView((view) => ({ ...view, turnDeg: normalTurn(turnDeg) }));
  return (
    <div className="view-controls">
      <div className="actions" role="group" aria-label="Size and place">
        <button type="button" className="button button-icon" aria-label="Larger" onClick={() => zoomBy(1.25)}>
          +
        </button>
        <button type="button" className="button button-icon" aria-label="Smaller" onClick={() => zoomBy(0.8)}>
          −
        </button>
        {onTip !== null && (
          <button type="button" className="button" onClick={onTip}>
            Fit tip
          </button>
        )}
        <button type="button" className="button" onClick={onWhole}>
          Whole picture
        </button>
        <button type="button" className="button" onClick={onActual}>
          Actual size
        </button>
        <button type="button" className="button" onClick={() => turn(0)}>
          Tip down
        </button>
        {asTakenDeg !== null && (
          <button type="button" className="button" onClick={() => turn(asTakenDeg)}>
            As taken
          </button>
        )}
      </div>
      <details className="more-view">
        <summary>Turn, outlines, tones</summary>
        <div className="more-view-body">
          <LiveNumberField label="Turned by" suffix="°" value={turned} onChange={turn} />
          <TickField
            label="Outlines over the picture"
            checked={outlines}
            onChange={(next) => benchStore.setState({ outlines: next })}
          />
          <TickField
            label="Axes and groove walls at 45°"
            checked={walls}
            onChange={(next) => benchStore.setState({ walls: next })}
          />
          {(single ? (['later'] as const) : (['baseline', 'later'] as const)).map((which) => (
            <Tones
              key={which}
              which={which}
              name={single ? 'Picture' : which === 'later' ? 'Later' : 'Baseline'}
            />
          ))}
          <p className="hint">Tones are for looking only; measuring uses the picture as it is.</p>
        </div>
      </details>
    </div>
  );
}

function Tones({ which, name }: { readonly which: 'baseline' | 'later'; readonly name: string }) {
  const tone = useStore(benchStore, (state) => state.tones[which]);
  return (
    <>
      <Ranged
        label={`${name}: brightness`}
        suffix="%"
        min={20}
        max={300}
        value={Math.round(tone.brightness * 100)}
        onChange={(percent) => setTone(which, { brightness: percent / 100 })}
      />
      <Ranged
        label={`${name}: contrast`}
        suffix="%"
        min={20}
        max={300}
        value={Math.round(tone.contrast * 100)}
        onChange={(percent) => setTone(which, { contrast: percent / 100 })}
      />
    </>
  );
}

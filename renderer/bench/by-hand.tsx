import { useEffect, useMemo, useRef } from 'react';
import { useStore } from 'zustand';
import { createStore, type StoreApi } from 'zustand/vanilla';
import { imageToTip, tipToImage, type Pose } from '../../shared/geometry.ts';
import type { Capture, MarkPoint } from '../../shared/index.ts';
import { lengthUnit, type ReportUnit } from '../format.ts';
import { pickStore, startPick, stopPick } from '../marks/pick.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { useUnsaved } from '../state/use-unsaved.ts';
import { LiveNumberField } from '../ui/fields.tsx';
import { benchStore, chooseWay } from './bench-state.ts';
import { movedPose, NO_MOVE, poseFromPoints, type HandMove, type PointPair } from './hand-pose.ts';
import type { Placing } from './scene.ts';

/** Laying the later picture over the baseline by hand. Nothing is saved until it is measured from there. */
type Hand = {
  readonly start: Pose;
  readonly move: HandMove;
  readonly about: { readonly x: number; readonly y: number };
};
export const handStore: StoreApi<{ readonly hand: Hand | null }> = createStore<{ hand: Hand | null }>()(
  () => ({ hand: null }),
);

/** Where the pair lies while a hand moves it, else where it was found. */
export function useHandPlacing(found: Placing): Placing {
  const hand = useStore(handStore, (state) => state.hand);
  useEffect(() => () => handStore.setState({ hand: null }), []);
  return useMemo(
    () => (hand === null ? found : { ...found, later: movedPose(hand.start, hand.move, hand.about) }),
    [found, hand],
  );
}

export function startByHand(found: Placing): void {
  handStore.setState({ hand: { start: found.later, move: NO_MOVE, about: benchStore.getState().view.at } });
  document.querySelector<HTMLElement>('.stage-focus')?.focus();
}

function change(part: Partial<HandMove>): void {
  handStore.setState(({ hand }) =>
    hand === null ? {} : { hand: { ...hand, move: { ...hand.move, ...part } } },
  );
}

/** By screen pixels, whichever way the stage is turned. */
export function shove(dx: number, dy: number, turnDeg: number): void {
  const { view } = benchStore.getState();
  const step = imageToTip(
    { xPx: 0, yPx: 0, rotationDeg: view.turnDeg, umPerPx: 1 / view.zoom },
    { x: dx, y: dy },
  );
  const move = handStore.getState().hand?.move ?? NO_MOVE;
  change({ dx: move.dx + step.x, dy: move.dy + step.y, turnDeg: move.turnDeg + turnDeg });
}

/** Said by the names of the buttons that end it. */
const HALF_LAID =
  'The later picture was moved by hand and is not measured from there. Choose “Refine from here and measure” or “Back to how it was” first.';

type ByHandProps = {
  readonly baseline: Capture;
  readonly later: Capture;
  readonly found: Placing;
  readonly counted: ReportUnit;
};

export function ByHand({ baseline, later, found, counted }: ByHandProps) {
  const { host, run, refresh } = useModel();
  const hand = useStore(handStore, (state) => state.hand);
  const unit = useDaybook((state) => state.settings.unit);
  const busy = useDaybook((state) => Object.keys(state.jobs).length > 0);
  const part = useRef<HTMLElement>(null);
  useUnsaved(hand !== null && hand.move !== NO_MOVE, HALF_LAID);
  const begun = hand !== null;
  useEffect(() => {
    // The button that began it stands at the other end of a long panel, which may scroll by itself.
    if (begun) part.current?.closest('.bench-panel')?.scrollTo({ top: 0 });
  }, [begun]);
  if (hand === null) return null;
  const { factor, symbol } = lengthUnit(unit, counted);
  const { move } = hand;
  const shown = (value: number): number => Math.round(value * factor * 1000) / 1000;
  const measure = async (): Promise<void> => {
    const pose = movedPose(hand.start, hand.move, hand.about);
    const made = await run('Measuring from where it was laid', (jobId) =>
      host.call('comparison.run', {
        baselineId: baseline.id,
        laterId: later.id,
        jobId,
        hand: { baseline: found.baseline, later: pose },
      }),
    );
    if (made === null) return;
    handStore.setState({ hand: null });
    stopPick();
    await refresh();
  };
  const leave = (): void => {
    handStore.setState({ hand: null });
    stopPick();
  };
  return (
    <section ref={part} className="panel-part by-hand" aria-labelledby="by-hand">
      <h2 id="by-hand">Laid over by hand</h2>
      <p className="hint">
        On the stage: drag the later picture, or push it with the arrow keys (Shift: ten times as far) and
        turn it with [ and ]. Or type it here. It need not be exact: the fit goes on from there.
      </p>
      <div className="by-hand-fields">
        <LiveNumberField
          label="To the right"
          suffix={symbol}
          value={shown(move.dx)}
          onChange={(dx) => change({ dx: dx / factor })}
        />
        <LiveNumberField
          label="Down"
          suffix={symbol}
          value={shown(move.dy)}
          onChange={(dy) => change({ dy: dy / factor })}
        />
        <LiveNumberField
          label="Turned anticlockwise"
          suffix="°"
          value={Math.round(move.turnDeg * 100) / 100}
          onChange={(turnDeg) => change({ turnDeg })}
        />
        <LiveNumberField
          label="Size"
          suffix="%"
          min={20}
          max={500}
          value={Math.round(move.percent * 100) / 100}
          onChange={(percent) => change({ percent })}
        />
      </div>
      <PointsInCommon baseline={baseline} later={later} found={found} />
      <div className="actions">
        <button type="button" className="button button-main" disabled={busy} onClick={() => void measure()}>
          Refine from here and measure
        </button>
        <button type="button" className="button" onClick={leave}>
          Back to how it was
        </button>
      </div>
    </section>
  );
}

/** Two or three places that both pictures show; the later picture is laid so that they meet. */
function PointsInCommon({ baseline, later, found }: Pick<ByHandProps, 'baseline' | 'later' | 'found'>) {
  const pick = useStore(pickStore, (state) => state.pick);
  const hand = useStore(handStore, (state) => state.hand);
  if (hand === null) return null;
  const setting = pick?.purpose === 'match' ? pick : null;
  const pose = movedPose(hand.start, hand.move, hand.about);
  const pairs = setting === null ? [] : pairsOf(setting.points, pose);
  const begin = (): void => {
    chooseWay('panes', true);
    const { at } = benchStore.getState().view;
    startPick('match', 'outline', [at.x, at.y]);
  };
  const lay = (): void => {
    const free = baseline.scale === null || later.scale === null;
    const next = poseFromPoints(pairs, free ? pose.umPerPx : found.later.umPerPx, free);
    stopPick();
    if (next === null) return;
    handStore.setState({ hand: { start: next, move: NO_MOVE, about: benchStore.getState().view.at } });
    chooseWay('over', true);
  };
  return (
    <div className="actions" role="group" aria-label="Points in common">
      {setting === null ? (
        <button type="button" className="button" onClick={begin}>
          Set points in common
        </button>
      ) : (
        <>
          <span className="hint" role="status">
            {pairs.length === 1 ? '1 pair set' : `${pairs.length} pairs set`}
          </span>
          <button type="button" className="button" disabled={pairs.length < 2} onClick={lay}>
            Lay them over each other
          </button>
          <button type="button" className="button" onClick={stopPick}>
            Leave the points
          </button>
        </>
      )}
    </div>
  );
}

/** Points were set by turns: in the baseline, then the same place in the later picture. */
export function pairsOf(points: readonly MarkPoint[], later: Pose): PointPair[] {
  const pairs: PointPair[] = [];
  for (let i = 0; i + 1 < points.length; i += 2) {
    const [x, y] = points[i + 1];
    pairs.push({ baseline: points[i], later: tipToImage(later, { x, y }) });
  }
  return pairs;
}

import { useEffect, useState } from 'react';
import { useStore } from 'zustand';
import type { Capture, Made, StylusPage } from '../../shared/index.ts';
import { writeRoute } from '../state/route.ts';
import { useModel } from '../state/use.ts';
import { baselineFor, hasOutline } from '../stylus/captures.ts';
import { Refused } from '../ui/bits.tsx';
import { ChoiceField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { setCurrentLive } from './current.ts';
import { keepPicture, type LiveFacts } from './keep.ts';
import { COLLECT_SENTENCES, type Live, type Taken } from './live.ts';
import { madeText } from './made-text.ts';
import type { CollectingCounts, TakenPicture } from './protocol.ts';
import { madeOf, nowDated } from './record.ts';

const FRAMES = [
  { value: '1', label: 'One frame' },
  { value: '8', label: 'Mean of 8 frames' },
  { value: '16', label: 'Mean of 16 frames' },
] as const;
type Frames = (typeof FRAMES)[number]['value'];

export type Taking = {
  readonly take: () => void;
  /** Ends a series of focal planes, merges them and keeps merge and planes. */
  readonly merge: () => void;
  readonly frames: Frames;
  readonly setFrames: (frames: Frames) => void;
  readonly keeping: boolean;
  readonly problem: string | null;
  readonly kept: Capture | null;
  /** Taken but not stored, because storing failed: a full disk, say. Null when there is nothing like that. */
  readonly storeAgain: (() => void) | null;
};

/** A picture on its way into the daybook. */
type Ready = {
  readonly picture: TakenPicture;
  readonly made: Made;
  readonly parts: readonly TakenPicture[];
};
const readyOf = ({ picture, mean }: Taken): Ready => ({ picture, made: madeOf(picture, mean), parts: [] });

/** Taking and keeping: frames are collected by the reading thread, the host stores what came out. */
export function useTaking(live: Live, facts: LiveFacts): Taking {
  const { host, attempt, done, refresh } = useModel();
  const [frames, setFrames] = useState<Frames>('16');
  const [keeping, setKeeping] = useState(false);
  const [problem, setProblem] = useState<string | null>(null);
  const [kept, setKept] = useState<Capture | null>(null);
  const [unstored, setUnstored] = useState<Ready | null>(null);
  const { at } = useStore(live.store, (state) => state.session.state);
  const keep = async (ready: Ready): Promise<void> => {
    setKeeping(true);
    const view = live.session.view();
    const capture = await attempt(() =>
      keepPicture({ host, view, facts, ...ready, taken: nowDated(new Date()) }),
    );
    setKeeping(false);
    setUnstored(capture === null ? ready : null);
    if (capture === null) return;
    setKept(capture);
    live.unfreeze();
    await done('The picture is in the daybook.');
    await refresh();
  };
  const take = async (): Promise<void> => {
    const { frozen, collecting, series } = live.store.getState();
    if (keeping || collecting !== null || series !== null) return;
    setProblem(null);
    if (frozen !== null) return keep(readyOf({ picture: frozen.picture, mean: null }));
    if (at !== 'live') return;
    const result = await live.take(Number(frames));
    if (typeof result === 'string') setProblem(COLLECT_SENTENCES[result]);
    else await keep(readyOf(result));
  };
  const merge = async (): Promise<void> => {
    setProblem(null);
    const result = await live.mergeSeries();
    if (result === 'dropped') return;
    if (typeof result === 'string') return setProblem(COLLECT_SENTENCES[result]);
    const { picture, parts, alignmentPx, sizeChange } = result;
    const made = { how: 'merge' as const, planes: parts.length, alignmentPx, sizeChange };
    await keep({ picture, made, parts });
  };
  useEffect(() => {
    setCurrentLive({
      take: () => void take(),
      freeze: () => (live.store.getState().frozen === null ? live.freeze() : live.unfreeze()),
    });
    return () => setCurrentLive(null);
  });
  const storeAgain = unstored === null ? null : () => void keep(unstored);
  return {
    take: () => void take(),
    merge: () => void merge(),
    frames,
    setFrames,
    keeping,
    problem,
    kept,
    storeAgain,
  };
}

export function TakePanel({
  live,
  taking,
  page,
}: {
  readonly live: Live;
  readonly taking: Taking;
  readonly page: StylusPage;
}) {
  const collecting = useStore(live.store, (state) => state.collecting);
  const frozen = useStore(live.store, (state) => state.frozen !== null);
  const series = useStore(live.store, (state) => state.series !== null);
  const isLive = useStore(live.store, (state) => state.session.state.at === 'live');
  const { frames, setFrames, keeping, problem, storeAgain } = taking;
  // Taken back: it is no longer here.
  const kept = page.captures.find((one) => one.id === taking.kept?.id) ?? null;
  return (
    <section className="panel-part" aria-labelledby="live-take">
      <h2 id="live-take">Take the picture</h2>
      <ChoiceField
        label="From"
        hint="Averaging cuts the noise: 16 frames to a quarter. Nothing may move meanwhile."
        value={frames}
        choices={FRAMES}
        onChange={setFrames}
      />
      <p className="actions panel-actions">
        <button
          type="button"
          className="button button-main"
          disabled={keeping || series || collecting !== null || (!isLive && !frozen)}
          onClick={taking.take}
        >
          <Icon name="camera" />
          {frozen ? 'Keep the frozen picture' : 'Take and keep'}
          <kbd>Alt+T</kbd>
        </button>
        <button
          type="button"
          className="button"
          disabled={!isLive && !frozen}
          aria-pressed={frozen}
          onClick={() => (frozen ? live.unfreeze() : live.freeze())}
        >
          {frozen ? 'Go on live' : 'Freeze'}
        </button>
      </p>
      {!frozen && collecting === null && !keeping && (isLive || series) && (
        <Planes live={live} onMerge={taking.merge} />
      )}
      {collecting !== null && <Collecting counts={collecting} onStop={live.stopTaking} />}
      {keeping && (
        <p className="hint" role="status">
          Storing the picture without loss…
        </p>
      )}
      {storeAgain !== null && !keeping && (
        <Refused sentence="The last picture was taken but could not be stored. It is kept here until you leave this screen or take another one.">
          <p className="actions">
            <button type="button" className="button" onClick={storeAgain}>
              Store it again
            </button>
          </p>
        </Refused>
      )}
      {problem !== null && <Refused sentence={problem} />}
      {kept !== null && !keeping && collecting === null && <Kept capture={kept} page={page} />}
    </section>
  );
}

/** Several focal planes of a part that is deeper than the depth of field. */
function Planes({ live, onMerge }: { readonly live: Live; readonly onMerge: () => void }) {
  const { series, merging } = useStore(live.store);
  if (series === null)
    return (
      <details className="live-planes">
        <summary>Several focal planes</summary>
        <p className="hint">
          For a part that is not sharp all over: a series while you turn the focus wheel, merged from the
          sharp places. The single planes are kept, too. Turning the wheel changes the size a little, so a
          merge is worth less than one sharp picture; its budget says how much.
        </p>
        <button type="button" className="button" onClick={live.startSeries}>
          Start a series
        </button>
      </details>
    );
  const percent = merging === null ? 0 : Math.round(100 * merging);
  return (
    <div className="live-collecting">
      {merging === null ? (
        <p role="status">
          {`Turn the focus wheel slowly through the whole depth. ${series.planes} ${series.planes === 1 ? 'plane' : 'planes'} so far, out of ${series.frames} frames.`}
        </p>
      ) : (
        <>
          <progress aria-label="Merging" max={1} value={merging} />
          <p className="hint" role="status">{`Merging: ${percent} %`}</p>
        </>
      )}
      <p className="actions">
        {merging === null && (
          <button type="button" className="button button-main" disabled={series.planes < 2} onClick={onMerge}>
            Merge and keep
          </button>
        )}
        <button type="button" className="button" onClick={live.stopTaking}>
          Stop
        </button>
      </p>
    </div>
  );
}

const LAST_WORDS: Readonly<Record<CollectingCounts['last'], string>> = {
  settling: 'waiting until brightness and sharpness have settled',
  taken: 'taking frames',
  same: 'waiting for a new frame',
  moved: 'waiting until nothing moves',
};

function Collecting({ counts, onStop }: { readonly counts: CollectingCounts; readonly onStop: () => void }) {
  const { wanted, taken, same, moved, last } = counts;
  const left = [same > 0 ? `${same} repeated` : '', moved > 0 ? `${moved} moved` : ''].filter(Boolean);
  return (
    <div className="live-collecting">
      <progress aria-label="Frames taken" max={wanted} value={taken} />
      <p className="hint" role="status">
        {`${taken} of ${wanted}: ${LAST_WORDS[last]}${left.length > 0 ? ` (left out: ${left.join(', ')})` : ''}`}
      </p>
      <button type="button" className="button" onClick={onStop}>
        Stop
      </button>
    </div>
  );
}

function Kept({ capture, page }: { readonly capture: Capture; readonly page: StylusPage }) {
  const { compare, go } = useModel();
  const stylusId = capture.stylusId;
  const baseline = baselineFor(page, capture);
  return (
    <div className="live-kept" role="status">
      <p>{`Kept: ${capture.camera === null ? capture.fileName : madeText(capture.camera.made)}.`}</p>
      <p className="actions">
        <a className="button" href={writeRoute({ screen: 'look', stylusId, captureId: capture.id })}>
          Look at it
        </a>
        {baseline !== null && baseline.id !== capture.id && hasOutline(capture.view) && (
          <button
            type="button"
            className="button"
            onClick={() => {
              go({ screen: 'bench', stylusId, baselineId: baseline.id, laterId: capture.id });
              void compare(baseline.id, capture.id);
            }}
          >
            <Icon name="compare" />
            Compare
          </button>
        )}
      </p>
    </div>
  );
}

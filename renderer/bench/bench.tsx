import { useMemo, useRef } from 'react';
import { useStore } from 'zustand';
import type { Capture, Comparison, StylusPage } from '../../shared/index.ts';
import { formatDated, formatHours } from '../format.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { answerBefore, comparisonOf, hasOutline } from '../stylus/captures.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { Crumb, Refused, ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { useWidth } from '../ui/use-width.ts';
import { MarksPanel } from '../marks/marks-panel.tsx';
import { useMarking, type Marking } from '../marks/use-marking.ts';
import { useStageActs } from './acts.ts';
import { benchStore, changeView } from './bench-state.ts';
import { ByHand, handStore, shove, startByHand, useHandPlacing } from './by-hand.tsx';
import { TINTS, type Scene } from './draw.ts';
import type { Size } from './geometry.ts';
import { useLayer } from './layers.ts';
import { Legend, legendOf } from './legend.tsx';
import { endOnContact } from './meaning.ts';
import { MeaningView } from './meaning-view.tsx';
import { ComparisonNumbers } from './numbers.tsx';
import { ProfilePlot } from './profile-plot.tsx';
import { placingOf, type Placing } from './scene.ts';
import { showWhole, Stage, startView } from './stage.tsx';
import { TakeAlong, useTakingAlong } from './take-along.tsx';
import { ViewControls, WayControls, WaysOfLooking } from './toolbar.tsx';

type Ids = { readonly baselineId: string; readonly laterId: string };

export function BenchScreen({ baselineId, laterId }: Ids) {
  const page = useDaybook((state) => state.page);
  const problem = useDaybook((state) => state.problem);
  if (page === null)
    return problem === null ? <p className="waiting">Opening…</p> : <NotThere sentence={problem} />;
  const baseline = [...page.captures, ...page.siblings].find((capture) => capture.id === baselineId);
  const later = page.captures.find((capture) => capture.id === laterId);
  if (baseline === undefined || later === undefined)
    return <NotThere sentence="One of the two pictures is not here any more; it may be in the bin." />;
  return <Bench page={page} baseline={baseline} later={later} />;
}

type BenchProps = { readonly page: StylusPage; readonly baseline: Capture; readonly later: Capture };

function Bench({ page, baseline, later }: BenchProps) {
  const comparison = comparisonOf(page, baseline.id, later.id);
  const report = comparison?.report ?? null;
  const found = useMemo(() => placingOf(baseline, later, comparison), [baseline, later, comparison]);
  const placing = useHandPlacing(found);
  const byHand = useStore(handStore, (state) => state.hand !== null);
  const answer = report?.ok === true ? report : null;
  const marking = useMarking(
    useMemo(
      () => ({
        page,
        shown: [
          { capture: later, pose: placing.later },
          { capture: baseline, pose: placing.baseline },
        ],
      }),
      [page, later, baseline, placing],
    ),
    useMemo(
      () => ({
        suspicions: answer?.suspicions ?? [],
        contour: answer?.drawing?.laterContour ?? null,
        unit: answer?.unit ?? 'um',
        cantilever: null,
        departures:
          answer?.drawing === undefined
            ? null
            : {
                profile: answer.drawing.profile,
                recession: answer.contour.largestRecessionUm,
                growth: answer.contour.largestGrowthUm,
              },
      }),
      [answer],
    ),
    answer?.tip.radiusUm.value ?? 0,
  );
  const scene = useScene({ page, baseline, later }, comparison, placing, marking.drawn, byHand);
  const size = useRef<Size>({ width: 640, height: 480 });
  const [ref, width] = useWidth<HTMLDivElement>(700);
  const { unit } = useDaybook((state) => state.settings);
  const answered = answer;
  const whole = (): void =>
    showWhole(placing.baseline, { width: baseline.widthPx, height: baseline.heightPx }, size.current);
  const fit = scene.radiusUm === null ? null : () => startView(scene, size.current);
  const actual = (): void => changeView((view) => ({ ...view, zoom: 1 / placing.baseline.umPerPx }));
  const counted = answered?.unit ?? (baseline.scale === null || later.scale === null ? 'px' : 'um');
  const taking = useTakingAlong({
    scene,
    counted,
    size,
    name: `${page.stylus.name} ${later.taken?.wall.slice(0, 10) ?? ''}`,
    legend: (state) => legendOf(state, { baseline, later, registered: placing.registered }),
    profile: answered?.drawing?.profile ?? null,
  });
  useStageActs({
    fitTip: fit,
    whole,
    actual,
    typeMark: marking.typeIn,
    byHand: hasOutline(later.view) ? () => startByHand(found) : null,
    savePicture: taking.picture,
    saveProfileCsv: taking.csv,
    saveProfileSvg: taking.svg,
  });
  return (
    <div className="bench">
      <BenchHead page={page} baseline={baseline} later={later} comparison={comparison} />
      <div className="bench-main" ref={ref}>
        <WaysOfLooking />
        <WayControls />
        {!placing.registered && (
          <p className="notice">
            Not registered: the pictures lie with their frames’ middles on each other, so nothing may be read
            from the difference.
          </p>
        )}
        <Stage
          scene={scene}
          counted={counted}
          pairKey={`${baseline.id}/${later.id}`}
          label="Stage: arrow keys move, plus and minus zoom, 0 fits the tip, [ and ] turn, 1 to 6 choose the way of looking"
          sizeRef={size}
          onPicked={marking.onPicked}
          onMoved={marking.onMoved}
          onShove={byHand ? shove : null}
        />
        <Legend baseline={baseline} later={later} registered={placing.registered} />
        <ViewControls
          onTip={fit}
          onWhole={whole}
          onActual={actual}
          asTakenDeg={placing.baseline.rotationDeg}
          single={false}
        />
        {answered?.drawing !== undefined && (
          <ProfilePlot
            profile={answered.drawing.profile}
            unit={unit}
            counted={counted}
            width={width}
            against="the baseline’s outline"
          />
        )}
        <TakeAlong {...taking} />
      </div>
      <aside className="bench-panel" aria-label="Numbers">
        <ByHand baseline={baseline} later={later} found={found} counted={counted} />
        <Panel
          page={page}
          baseline={baseline}
          later={later}
          comparison={comparison}
          found={found}
          marking={marking}
        />
      </aside>
    </div>
  );
}

function useScene(
  { baseline, later }: BenchProps,
  comparison: Comparison | null,
  placing: Placing,
  marks: Scene['marks'],
  byHand: boolean,
): Scene {
  const tones = useStore(benchStore, (state) => state.tones);
  const first = useLayer(baseline.id, placing.baseline, baseline.widthPx, tones.baseline, TINTS.baseline);
  const second = useLayer(later.id, placing.later, later.widthPx, tones.later, TINTS.later);
  const report = comparison?.report;
  return useMemo(() => {
    const answered = report?.ok === true ? report : null;
    const drawing = answered?.drawing ?? null;
    return {
      // Each hook hands over a new object when its pose changes; the levels inside stay.
      baseline: first.layer,
      later: second.layer,
      // While a hand moves the later picture, its outline of before belongs nowhere.
      contours: drawing && {
        baseline: drawing.baselineContour,
        later: byHand ? [] : drawing.laterContour,
      },
      marks,
      radiusUm: drawing === null || answered === null ? null : answered.tip.radiusUm.value,
      single: false,
    };
    // oxlint-disable-next-line react/exhaustive-deps
  }, [first.layer?.levels, second.layer?.levels, placing, report, marks, byHand]);
}

function BenchHead({
  page,
  baseline,
  later,
  comparison,
}: BenchProps & { readonly comparison: Comparison | null }) {
  const stylusId = page.stylus.id;
  return (
    <header className="bench-head">
      <Crumb to={writeRoute({ screen: 'stylus', stylusId })} name={page.stylus.name}>
        {page.stylus.demo && <span className="tag tag-demo">invented demo</span>}
      </Crumb>
      <ScreenTitle>{`${formatDated(baseline.taken)} and ${formatDated(later.taken)}`}</ScreenTitle>
      {comparison !== null && comparison.hoursAtLater !== null && (
        <p className="hint">{`Later picture at ${formatHours(comparison.hoursAtLater)}`}</p>
      )}
    </header>
  );
}

type PanelProps = BenchProps & {
  readonly comparison: Comparison | null;
  readonly found: Placing;
  readonly marking: Marking;
};

function Panel({ page, baseline, later, comparison, found, marking }: PanelProps) {
  const { compare, open } = useModel();
  const busy = useDaybook((state) => Object.keys(state.jobs).length > 0);
  const { unit } = useDaybook((state) => state.settings);
  const report = comparison?.report ?? null;
  const measure = (
    <button
      type="button"
      className={report?.ok === true ? 'button' : 'button button-main'}
      disabled={busy}
      onClick={() => void compare(baseline.id, later.id)}
    >
      {report === null ? 'Measure this pair' : 'Measure again'}
    </button>
  );
  return (
    <>
      {report === null && hasOutline(later.view) && (
        <p>
          {busy ? 'The numbers appear here when they are ready.' : 'This pair has not been measured yet.'}
        </p>
      )}
      {report?.ok === false && (
        <Refused sentence={report.reason.message}>
          <p className="hint">
            No number is given, because none could be believed. If both pictures show the same tip, lay the
            later one over the baseline by hand and let the program go on from there.
          </p>
        </Refused>
      )}
      {report?.ok !== true && <MarksPanel marking={marking} />}
      {report?.ok === false && report.warnings !== undefined && (
        <ul className="warnings">
          {report.warnings.map((warning) => (
            <li key={warning.code + warning.message}>{warning.message}</li>
          ))}
        </ul>
      )}
      {report?.ok === true && (
        <>
          <ComparisonNumbers
            report={report}
            unit={unit}
            marks={<MarksPanel marking={marking} />}
            before={answerBefore(page, later, report)}
          />
          {report.unit !== 'percent-of-shank' && (
            <MeaningView
              flats={[report.flats.left, report.flats.right].map((flat) => ({
                width: flat.laterUm,
                detected: flat.detected,
              }))}
              stylus={page.stylus}
              radius={report.tip.radiusUm}
              endOn={endOnContact(page, later.taken?.wall ?? null)}
              unit={unit}
            />
          )}
        </>
      )}
      <p className="actions panel-actions">
        {hasOutline(later.view) && measure}
        {hasOutline(later.view) && (
          <button type="button" className="button" onClick={() => startByHand(found)}>
            Lay over by hand
          </button>
        )}
        <button type="button" className="button" onClick={() => open({ kind: 'capture', capture: later })}>
          Edit later picture
        </button>
        <button type="button" className="button" onClick={() => open({ kind: 'capture', capture: baseline })}>
          Edit baseline
        </button>
        {comparison !== null && (
          <a
            className="button"
            href={writeRoute({ screen: 'sheet', stylusId: page.stylus.id, comparisonId: comparison.id })}
          >
            <Icon name="sheet" />
            Sheet
          </a>
        )}
      </p>
      {comparison !== null && (
        <p className="hint">{`Engine ${comparison.engineVersion}, measured ${comparison.createdAt.slice(0, 10)}`}</p>
      )}
    </>
  );
}

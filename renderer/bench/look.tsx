import { useMemo, useRef } from 'react';
import { useStore } from 'zustand';
import { imageToTip, type Pose } from '../../shared/geometry.ts';
import type { Capture, StylusPage } from '../../shared/index.ts';
import { DATE_SOURCE, formatDated, type LengthUnit } from '../format.ts';
import { TakenWith } from '../camera/taken-with.tsx';
import { formatScale, SCALE_SOURCE } from '../importing/scale.ts';
import { ScaleAlarm } from '../scales/scale-alarm.tsx';
import { MarksPanel } from '../marks/marks-panel.tsx';
import type { Suspected } from '../marks/proposals.ts';
import { useMarking, type Marking } from '../marks/use-marking.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { baselineFor, hasOutline } from '../stylus/captures.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { Crumb, Refused, ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { useWidth } from '../ui/use-width.ts';
import { LIGHT_WORDS, VIEW_WORDS } from '../words.ts';
import { useStageActs } from './acts.ts';
import { benchStore, changeView } from './bench-state.ts';
import type { Contour, Scene } from './draw.ts';
import { fitOutlines, type Size } from './geometry.ts';
import { useLayer } from './layers.ts';
import { Cantilever, SkewForm } from './look-cantilever.tsx';
import { Examination, outlinedFacets } from './look-results.tsx';
import { OtherLight } from './other-light.tsx';
import { Line } from './numbers.tsx';
import { ProfilePlot } from './profile-plot.tsx';
import { centredPose } from './scene.ts';
import { useSkew, type Skewing } from './use-skew.ts';
import { showWhole, Stage, startView } from './stage.tsx';
import { TakeAlong, useTakingAlong } from './take-along.tsx';
import { ViewControls } from './toolbar.tsx';

/** One picture on its own: what can be told without a baseline. */
export function LookScreen({ captureId }: { readonly captureId: string }) {
  const page = useDaybook((state) => state.page);
  const problem = useDaybook((state) => state.problem);
  if (page === null)
    return problem === null ? <p className="waiting">Opening…</p> : <NotThere sentence={problem} />;
  const capture = page.captures.find((one) => one.id === captureId);
  if (capture === undefined)
    return <NotThere sentence="This picture is not here any more; it may be in the bin." />;
  return <Look page={page} capture={capture} />;
}

type LookProps = { readonly page: StylusPage; readonly capture: Capture };

function Look({ page, capture }: LookProps) {
  const report = capture.examination?.ok === true ? capture.examination : null;
  const pose = useMemo(() => report?.drawing?.pose ?? centredPose(capture), [report, capture]);
  const tone = useStore(benchStore, (state) => state.tones.later);
  const { layer, failed } = useLayer(capture.id, pose, capture.widthPx, tone);
  const drawing = report?.drawing ?? null;
  const lines = useMemo(() => drawing?.contour ?? cantileverAxis(capture, pose), [drawing, capture, pose]);
  const marking = useMarking(
    useMemo(() => ({ page, shown: [{ capture, pose }] }), [page, capture, pose]),
    useMemo(() => suspectedIn(capture, drawing?.contour ?? null), [capture, drawing]),
    report?.tip?.radiusUm.value ?? 0,
  );
  const { unit } = useDaybook((state) => state.settings);
  const facets = useMemo(() => outlinedFacets(report, pose, unit), [report, pose, unit]);
  const skewing = useSkew(capture, pose);
  const scene = useMemo<Scene>(
    () => ({
      baseline: null,
      later: layer,
      contours:
        lines === null && skewing.drawn === null
          ? null
          : { baseline: skewing.drawn ?? [], later: lines ?? [] },
      marks: marking.drawn,
      facets,
      radiusUm: drawing === null ? null : (report?.tip?.radiusUm.value ?? null),
      single: true,
    }),
    // oxlint-disable-next-line react/exhaustive-deps
    [layer?.levels, pose, drawing, lines, report, marking.drawn, facets, skewing.text],
  );
  const size = useRef<Size>({ width: 640, height: 480 });
  const [ref, width] = useWidth<HTMLDivElement>(700);
  const counted = report?.unit ?? (capture.scale === null ? 'px' : 'um');
  const whole = (): void =>
    showWhole(pose, { width: capture.widthPx, height: capture.heightPx }, size.current);
  const fit =
    scene.radiusUm !== null
      ? () => startView(scene, size.current)
      : facets.length > 0
        ? () => changeView(() => fitOutlines(size.current, facets))
        : null;
  const actual = (): void => changeView((view) => ({ ...view, zoom: 1 / pose.umPerPx }));
  const taking = useTakingAlong({
    scene,
    counted,
    size,
    name: `${page.stylus.name} ${capture.taken?.wall.slice(0, 10) ?? ''}`,
    legend: () => ({ keys: [], remark: null }),
    profile: drawing?.profile ?? null,
  });
  useStageActs({
    fitTip: fit,
    whole,
    actual,
    typeMark: marking.typeIn,
    byHand: null,
    savePicture: taking.picture,
    saveProfileCsv: taking.csv,
    saveProfileSvg: taking.svg,
  });
  return (
    <div className="bench">
      <header className="bench-head">
        <Crumb to={writeRoute({ screen: 'stylus', stylusId: page.stylus.id })} name={page.stylus.name}>
          {page.stylus.demo && <span className="tag tag-demo">invented demo</span>}
          {capture.isBaseline && <span className="tag tag-baseline">baseline</span>}
        </Crumb>
        <ScreenTitle>{`Picture of ${formatDated(capture.taken)}`}</ScreenTitle>
      </header>
      <div className="bench-main" ref={ref}>
        {failed && (
          <Refused sentence="This picture could not be read. Its original may be damaged or missing." />
        )}
        <Stage
          scene={scene}
          counted={counted}
          pairKey={capture.id}
          label="Picture: arrow keys move, plus and minus zoom, 0 starts again, [ and ] turn"
          sizeRef={size}
          onPicked={(points) => {
            if (!skewing.onPicked(points)) marking.onPicked(points);
          }}
          onMoved={marking.onMoved}
        />
        <ViewControls
          onTip={fit}
          onWhole={whole}
          onActual={actual}
          asTakenDeg={drawing === null ? null : pose.rotationDeg}
          single
        />
        {drawing !== null && (
          <ProfilePlot
            profile={drawing.profile}
            unit={unit}
            counted={counted}
            width={width}
            against="the fitted unworn shape"
          />
        )}
        <TakeAlong {...taking} />
      </div>
      <aside className="bench-panel" aria-label="Numbers">
        <LookPanel page={page} capture={capture} unit={unit} marking={marking} skewing={skewing} />
      </aside>
    </div>
  );
}

/** What the program suspects in this one picture: of the tip's outline and of the cantilever. */
function suspectedIn(capture: Capture, contour: Contour | null): Suspected {
  const tip = capture.examination?.ok === true ? capture.examination : null;
  const cantilever = capture.cantilever?.ok === true ? capture.cantilever : null;
  return {
    suspicions: [...(tip?.suspicions ?? []), ...(cantilever?.suspicions ?? [])],
    contour,
    unit: tip?.unit ?? 'um',
    cantilever,
    departures: null,
  };
}

/** The measured axis, from the picture's pixels into the frame that the stage draws in. */
function cantileverAxis(capture: Capture, pose: Pose): Contour | null {
  const report = capture.cantilever;
  if (report?.ok !== true || report.drawing === undefined) return null;
  return report.drawing.axisPx.map(([x, y]) => {
    const point = imageToTip(pose, { x, y });
    return [point.x, point.y] as const;
  });
}

type LookPanelProps = LookProps & {
  readonly unit: LengthUnit;
  readonly marking: Marking;
  readonly skewing: Skewing;
};

function LookPanel({ page, capture, unit, marking, skewing }: LookPanelProps) {
  const { host, run, refresh, open } = useModel();
  const busy = useDaybook((state) => Object.keys(state.jobs).length > 0);
  const job = async (method: 'capture.examine' | 'capture.cantilever', title: string): Promise<void> => {
    await run(title, (jobId) => host.call(method, { id: capture.id, jobId }));
    await refresh();
  };
  const examineUnder = async (otherLightId: string): Promise<void> => {
    await run('Comparing the light', (jobId) =>
      host.call('capture.examine', { id: capture.id, jobId, otherLightId }),
    );
    await refresh();
  };
  const baseline = baselineFor(page, capture);
  const forCantilever = capture.view === 'side' || capture.view === 'below' || capture.view === 'above';
  const forTip = capture.view === 'front' || capture.view === 'side' || capture.view === 'end-on';
  return (
    <>
      <section className="panel-part" aria-labelledby="about-picture">
        <h2 id="about-picture">The picture</h2>
        <dl className="numbers">
          <Line name="View" value={VIEW_WORDS[capture.view]} />
          <Line name="Light" value={LIGHT_WORDS[capture.light]} />
          <Line
            name="Scale"
            value={formatScale(capture.scale)}
            {...(capture.scale === null ? {} : { note: SCALE_SOURCE[capture.scale.source] })}
          />
          <Line
            name="Taken"
            value={formatDated(capture.taken)}
            {...(capture.taken === null ? {} : { note: DATE_SOURCE[capture.taken.source] })}
          />
          <Line name="Frame" value={`${capture.widthPx} × ${capture.heightPx} px`} />
          <Line name="File" value={capture.fileName} />
        </dl>
        {capture.heldBackScale && <ScaleAlarm sentence={capture.heldBackScale.reason} />}
      </section>
      {capture.camera !== null && <TakenWith record={capture.camera} captureId={capture.id} />}
      {forTip && <Examination report={capture.examination} unit={unit} />}
      {forCantilever && <Cantilever report={capture.cantilever} baseline={baseline} unit={unit} />}
      {forCantilever && <SkewForm busy={busy} skewing={skewing} />}
      {capture.view === 'end-on' && (
        <OtherLight page={page} capture={capture} busy={busy} onOther={(id) => void examineUnder(id)} />
      )}
      <MarksPanel marking={marking} />
      <p className="actions panel-actions">
        {forTip && (
          <button
            type="button"
            className="button button-main"
            disabled={busy}
            onClick={() => void job('capture.examine', 'Examining the tip')}
          >
            {capture.examination === null ? 'Examine the tip' : 'Examine again'}
          </button>
        )}
        {forCantilever && (
          <button
            type="button"
            className="button"
            disabled={busy}
            onClick={() => void job('capture.cantilever', 'Measuring the cantilever')}
          >
            {capture.cantilever === null ? 'Measure the cantilever' : 'Measure it again'}
          </button>
        )}
        {baseline !== null && hasOutline(capture.view) && (
          <a
            className="button"
            href={writeRoute({
              screen: 'bench',
              stylusId: page.stylus.id,
              baselineId: baseline.id,
              laterId: capture.id,
            })}
          >
            <Icon name="compare" />
            Lay over the baseline
          </a>
        )}
        <button type="button" className="button" onClick={() => open({ kind: 'capture', capture })}>
          Edit
        </button>
        <button
          type="button"
          className="button button-quiet"
          onClick={() => open({ kind: 'scale-card', card: null, captureId: capture.id })}
        >
          Take a scale card from it
        </button>
      </p>
    </>
  );
}

import { useMemo, useRef } from 'react';
import { useStore } from 'zustand';
import { imageToTip, type Pose } from '../../shared/geometry.ts';
import type {
  CantileverReport,
  Capture,
  ExaminationAnswer,
  ExaminationReport,
  StylusPage,
} from '../../shared/index.ts';
import {
  DATE_SOURCE,
  formatDated,
  formatFlat,
  formatMeasured,
  formatPlain,
  lengthUnit,
  type LengthUnit,
} from '../format.ts';
import { TakenWith } from '../camera/taken-with.tsx';
import { formatScale, SCALE_SOURCE } from '../importing/scale.ts';
import { ScaleAlarm } from '../scales/scale-alarm.tsx';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { baselineFor } from '../stylus/captures.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { Refused, ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { useWidth } from '../ui/use-width.ts';
import { LIGHT_WORDS, VIEW_WORDS } from '../words.ts';
import { benchStore, changeView } from './bench-state.ts';
import type { Contour, Scene } from './draw.ts';
import { FlatBar } from './flat-bar.tsx';
import type { Size } from './geometry.ts';
import { useLayer } from './layers.ts';
import { Budget, digitsFor, Interval, Line, Suspicions, Warnings } from './numbers.tsx';
import { ProfilePlot } from './profile-plot.tsx';
import { centredPose, marksOf } from './scene.ts';
import { showWhole, Stage, startView } from './stage.tsx';
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
  const scene = useMemo<Scene>(
    () => ({
      baseline: null,
      later: layer,
      contours: lines === null ? null : { baseline: [], later: lines },
      marks: drawing === null || report === null ? [] : marksOf(report.suspicions, drawing.contour),
      radiusUm: drawing === null ? null : (report?.tip?.radiusUm.value ?? null),
      single: true,
    }),
    // oxlint-disable-next-line react/exhaustive-deps
    [layer?.levels, pose, drawing, lines, report],
  );
  const size = useRef<Size>({ width: 640, height: 480 });
  const [ref, width] = useWidth<HTMLDivElement>(700);
  const { unit } = useDaybook((state) => state.settings);
  const counted = report?.unit ?? (capture.scale === null ? 'percent-of-shank' : 'um');
  return (
    <div className="bench">
      <header className="bench-head">
        <p className="crumb">
          <a href={writeRoute({ screen: 'stylus', stylusId: page.stylus.id })}>
            <Icon name="back" />
            {page.stylus.name}
          </a>
          {page.stylus.demo && <span className="tag tag-demo">invented demo</span>}
          {capture.isBaseline && <span className="tag tag-baseline">baseline</span>}
        </p>
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
        />
        <ViewControls
          onTip={scene.radiusUm === null ? null : () => startView(scene, size.current)}
          onWhole={() => showWhole(pose, { width: capture.widthPx, height: capture.heightPx }, size.current)}
          onActual={() => changeView((view) => ({ ...view, zoom: 1 / pose.umPerPx }))}
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
      </div>
      <aside className="bench-panel" aria-label="Numbers">
        <LookPanel page={page} capture={capture} unit={unit} />
      </aside>
    </div>
  );
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

function LookPanel({ page, capture, unit }: LookProps & { readonly unit: LengthUnit }) {
  const { host, run, refresh, open } = useModel();
  const busy = useDaybook((state) => Object.keys(state.jobs).length > 0);
  const job = async (method: 'capture.examine' | 'capture.cantilever', title: string): Promise<void> => {
    await run(title, (jobId) => host.call(method, { id: capture.id, jobId }));
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
      {capture.camera !== null && <TakenWith record={capture.camera} />}
      {forTip && <Examination report={capture.examination} unit={unit} />}
      {forCantilever && <Cantilever report={capture.cantilever} unit={unit} />}
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
        {baseline !== null && (
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

function Examination({
  report,
  unit,
}: {
  readonly report: ExaminationReport | null;
  readonly unit: LengthUnit;
}) {
  if (report === null)
    return (
      <p className="hint">
        Not examined yet. The examination says at once whether this picture is good enough, and for how small
        a flat.
      </p>
    );
  if (!report.ok) return <Refused sentence={report.reason.message} />;
  return <Examined report={report} unit={unit} />;
}

function Examined({ report, unit }: { readonly report: ExaminationAnswer; readonly unit: LengthUnit }) {
  const shown = lengthUnit(unit, report.unit ?? 'um');
  const { flats, tip, facets } = report;
  const most =
    flats === undefined
      ? 1
      : Math.max(
          ...[flats.left, flats.right].map((one) =>
            Math.max(one.widthUm.value + one.widthUm.expanded, 1.3 * one.detectionLimitUm),
          ),
        );
  const limit =
    flats === undefined ? null : Math.max(flats.left.detectionLimitUm, flats.right.detectionLimitUm);
  return (
    <>
      {limit !== null && (
        <p className="good-for">
          {`Good enough to show a flat of ${formatPlain(limit * shown.factor, digitsFor(shown), shown.symbol)} or more.`}
        </p>
      )}
      {flats !== undefined && (
        <section className="panel-part" aria-labelledby="look-flats">
          <h2 id="look-flats">Flat widths, from this picture alone</h2>
          {(['left', 'right'] as const).map((side) => (
            <div className="side-flat" key={side}>
              <h3 className={`side-name side-${side}`}>{side === 'left' ? 'Left wall' : 'Right wall'}</h3>
              <p className={flats[side].detected ? 'big-value' : 'big-value big-value-not'}>
                {formatFlat(flats[side].widthUm, flats[side].detected, flats[side].detectionLimitUm, shown)}
              </p>
              <Interval measured={flats[side].detected ? flats[side].widthUm : null} shown={shown} />
              <FlatBar
                flat={flats[side].widthUm}
                detected={flats[side].detected}
                limit={flats[side].detectionLimitUm}
                most={most}
                side={side}
              />
            </div>
          ))}
        </section>
      )}
      {facets !== undefined && facets.length > 0 && (
        <section className="panel-part" aria-labelledby="facets">
          <h2 id="facets">Bright facets</h2>
          <dl className="numbers">
            {facets.map((facet) => (
              <Line
                key={facet.side}
                name={facet.side === 'left' ? 'Left' : 'Right'}
                value={`${formatMeasured(facet.alongUm, shown)} along the groove`}
                note={`${formatMeasured(facet.acrossUm, shown)} across, as foreshortened in the picture`}
              />
            ))}
          </dl>
        </section>
      )}
      <Suspicions suspicions={report.suspicions} shown={shown} />
      <section className="panel-part" aria-labelledby="look-trust">
        <h2 id="look-trust">How good it is</h2>
        <dl className="numbers">
          {tip !== undefined && (
            <Line
              name="Tip radius"
              value={formatMeasured(tip.radiusUm, shown)}
              note={`from an arc of ${formatPlain(tip.arcDeg, 0, '')}°`}
            />
          )}
          <Line
            name="Edge width"
            value={formatPlain(report.sharpness.edgeUm * shown.factor, digitsFor(shown), shown.symbol)}
          />
          {report.shapeResidualUm !== undefined && (
            <Line
              name="Outline against the fitted shape"
              value={formatPlain(report.shapeResidualUm * shown.factor, digitsFor(shown) + 1, shown.symbol)}
            />
          )}
        </dl>
      </section>
      <Warnings warnings={report.warnings} />
      {flats !== undefined && (
        <Budget
          shown={shown}
          parts={(['left', 'right'] as const).map((side) => ({
            name: `${side} flat`,
            lines: flats[side].budget ?? [],
          }))}
        />
      )}
    </>
  );
}

function Cantilever({
  report,
  unit,
}: {
  readonly report: CantileverReport | null;
  readonly unit: LengthUnit;
}) {
  if (report === null) return null;
  if (!report.ok) return <Refused sentence={report.reason.message} />;
  const { cantilever } = report;
  const shown = lengthUnit(unit);
  const degrees = { factor: 1, symbol: '°' };
  return (
    <section className="panel-part" aria-labelledby="cantilever">
      <h2 id="cantilever">Cantilever</h2>
      <dl className="numbers">
        <Line
          name="Bend"
          value={formatMeasured(cantilever.bendAngleDeg, degrees)}
          note={cantilever.bendToward === 'none' ? 'no side' : `towards picture ${cantilever.bendToward}`}
        />
        <Line name="Straightness" value={formatMeasured(cantilever.straightnessUm, shown)} />
        {cantilever.skewDeg !== undefined && (
          <Line name="Skew" value={formatMeasured(cantilever.skewDeg, degrees)} />
        )}
      </dl>
      <Suspicions suspicions={report.suspicions} shown={shown} />
      <Warnings warnings={report.warnings} />
    </section>
  );
}

import { useEffect, useState } from 'react';
import { useStore } from 'zustand';
import type { Capture, StylusPage, View } from '../../shared/index.ts';
import { LIGHTS, VIEWS } from '../importing/row.tsx';
import { useStudy } from '../study/use-study.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { hasOutline } from '../stylus/captures.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { Cautions, Crumb, Refused, ScreenTitle } from '../ui/bits.tsx';
import { ChoiceField, TextField, TickField } from '../ui/fields.tsx';
import { CAUTIONS, VIEW_SHORT } from '../words.ts';
import { ControlsPanel } from './controls-panel.tsx';
import type { LiveFacts } from './keep.ts';
import { createLive, type Live } from './live.ts';
import { LiveStage } from './live-stage.tsx';
import { MeterPanel } from './meter-panel.tsx';
import { PosePanel, type Underlay } from './pose-panel.tsx';
import { canReadFrames } from './pump.ts';
import { TakePanel, useTaking } from './take-panel.tsx';
import { UnderlayLayer } from './underlay.tsx';
import { useBaseline } from './use-baseline.ts';
import { ScalePart } from './scale-part.tsx';
import { useLiveScale } from './use-live-scale.ts';

/** The live picture of a microscope, for one stylus and one view of it. */
export function CameraScreen({ view, studyId }: { readonly view: View; readonly studyId: string | null }) {
  const page = useDaybook((state) => state.page);
  const problem = useDaybook((state) => state.problem);
  if (page === null)
    return problem === null ? <p className="waiting">Opening…</p> : <NotThere sentence={problem} />;
  if (!canReadFrames())
    return (
      <NotThere sentence="This browser cannot hand over single frames of a camera. Open the program in Chromium, Chrome or Edge; pictures can be added as files here." />
    );
  return <WithLive page={page} view={view} studyId={studyId} />;
}

type ScreenProps = {
  readonly page: StylusPage;
  readonly view: View;
  /** The repeatability study that the pictures are for. */
  readonly studyId: string | null;
};

/** One camera for as long as the screen is there; leaving the screen switches it off. */
function WithLive({ page, view, studyId }: ScreenProps) {
  const [live] = useState(createLive);
  useEffect(() => {
    live.start();
    return () => live.close();
  }, [live]);
  return <Open page={page} view={view} studyId={studyId} live={live} />;
}

function useFacts(page: StylusPage, view: View, live: Live, label: string, studyId: string | null) {
  const last = page.captures.at(-1);
  const first = !page.captures.some((one) => one.isBaseline && one.view === view);
  const [light, setLight] = useState<Capture['light']>(last?.light ?? 'unknown');
  const [named, setNamed] = useState<string | null>(null);
  const [wished, setWished] = useState<boolean | null>(null);
  const known = page.captures.findLast((one) => one.camera?.camera === label);
  // A study counts for one microscope by its name, so its pictures bear that.
  const studied = useStudy(studyId).value?.seen.study.microscope;
  const microscope = studied ?? named ?? known?.microscope ?? label;
  const isBaseline = studyId === null && (wished ?? first);
  const scale = useLiveScale(live, microscope);
  const facts: LiveFacts = {
    stylusId: page.stylus.id,
    view,
    light,
    mirrored: known?.mirrored ?? null,
    scale: scale.scale,
    microscope: microscope.trim().slice(0, 200),
    isBaseline,
    ...(studyId === null ? {} : { studyId }),
  };
  return { facts, scale, setLight, setNamed, setBaseline: setWished, microscope };
}

function Open({ page, view, studyId, live }: ScreenProps & { readonly live: Live }) {
  const { go } = useModel();
  const session = useStore(live.store, (state) => state.session);
  const broken = useStore(live.store, (state) => state.broken);
  const about = useFacts(page, view, live, session.label, studyId);
  const { scale } = about;
  const taking = useTaking(live, about.facts);
  const stylusId = page.stylus.id;
  const readable = hasOutline(view);
  const baseline = useBaseline(live, page, view, readable);
  const { unit } = useDaybook((state) => state.settings);
  const umPerPx = scale.scale?.umPerPx ?? null;
  const [underlay, setUnderlay] = useState<Underlay>({ as: 'contour', opacity: 0.5 });
  const [byItself, setByItself] = useState(false);
  useEffect(() => live.setScale(umPerPx), [live, umPerPx]);
  useEffect(() => {
    live.onMoment(() => {
      if (!byItself) return;
      // Once: the next one is asked for again.
      setByItself(false);
      taking.take();
    });
  });
  return (
    <div className="bench live">
      <header className="bench-head">
        <Crumb
          to={writeRoute(
            studyId === null ? { screen: 'stylus', stylusId } : { screen: 'study', stylusId, studyId },
          )}
          name={studyId === null ? page.stylus.name : 'Repeatability study'}
        />
        <ScreenTitle>{`Live picture, ${VIEW_SHORT[view]}`}</ScreenTitle>
      </header>
      <div className="bench-main">
        {broken ? (
          <Refused sentence="The part of the program that looks at the frames stopped. Nothing was lost; leave this screen and open it again." />
        ) : (
          <LiveStage live={live}>
            <UnderlayLayer live={live} baseline={baseline} underlay={underlay} umPerPx={umPerPx} />
          </LiveStage>
        )}
        <Cautions title="Before you touch the stylus" lines={CAUTIONS.handling} />
      </div>
      <aside className="bench-panel" aria-label="Camera and picture">
        <TakePanel live={live} taking={taking} page={page} />
        {readable && <MeterPanel live={live} umPerPx={umPerPx} unit={unit} frames={Number(taking.frames)} />}
        <PosePanel
          live={live}
          baseline={baseline}
          readable={readable}
          underlay={underlay}
          setUnderlay={setUnderlay}
          umPerPx={umPerPx}
          unit={unit}
          byItself={byItself}
          setByItself={setByItself}
        />
        <section className="panel-part" aria-labelledby="live-about">
          <h2 id="live-about">About the picture</h2>
          <div className="live-form">
            {studyId === null ? (
              <ChoiceField
                label="View"
                wide
                value={view}
                choices={VIEWS}
                onChange={(next) => go({ screen: 'camera', stylusId, view: next })}
              />
            ) : (
              <p className="notice">Front views for the study, one for each placing.</p>
            )}
            <ChoiceField
              label="Light"
              wide
              value={about.facts.light}
              choices={LIGHTS}
              onChange={about.setLight}
            />
            {studyId === null && (
              <>
                <TextField
                  label="Microscope"
                  maxLength={200}
                  value={about.microscope}
                  onChange={about.setNamed}
                />
                <TickField
                  label="This is the baseline of its view"
                  checked={about.facts.isBaseline}
                  onChange={about.setBaseline}
                />
              </>
            )}
          </div>
          <ScalePart scale={scale} />
        </section>
        <CameraPart live={live} />
        <ControlsPanel live={live} />
      </aside>
    </div>
  );
}

function CameraPart({ live }: { readonly live: Live }) {
  const { state, cameras, label } = useStore(live.store, (one) => one.session);
  const { granted } = state;
  const chosen = state.deviceId ?? '';
  const choices = cameras.map((camera, index) => ({
    value: camera.deviceId,
    label: camera.label === '' ? `Camera ${index + 1}` : camera.label,
  }));
  const known = choices.some((one) => one.value === chosen);
  return (
    <section className="panel-part" aria-labelledby="live-camera">
      <h2 id="live-camera">Camera</h2>
      <ChoiceField
        label="Camera"
        hint="Only its picture is used, never a microphone."
        value={known ? chosen : ''}
        choices={known ? choices : [{ value: '', label: label === '' ? 'choose…' : label }, ...choices]}
        onChange={(deviceId) => live.session.open(deviceId === '' ? null : deviceId)}
      />
      {granted !== null && (
        <dl className="numbers">
          <div>
            <dt>Frame, as given</dt>
            <dd>{`${granted.widthPx} × ${granted.heightPx} px`}</dd>
          </div>
          <div>
            <dt>Frames a second</dt>
            <dd>{granted.frameRate === null ? 'not reported' : Math.round(granted.frameRate)}</dd>
          </div>
          <div>
            <dt>Resized</dt>
            <dd>
              {granted.resizeMode === 'none'
                ? 'no'
                : granted.resizeMode === 'crop-and-scale'
                  ? 'yes, by the browser'
                  : granted.resizeMode}
            </dd>
          </div>
        </dl>
      )}
      {granted?.notes.map((note) => (
        <p className="notice" key={note}>
          {note}
        </p>
      ))}
    </section>
  );
}

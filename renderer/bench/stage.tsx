// The stage moves with keys of its own, so it must be reachable; everything in it is said beside it in text.
/* oxlint-disable jsx-a11y/no-noninteractive-tabindex, jsx-a11y/no-noninteractive-element-interactions */
import { useCallback, useEffect, useRef, useState } from 'react';
import { useStore } from 'zustand';
import { createStore } from 'zustand/vanilla';
import type { Pose, TipPoint } from '../../shared/geometry.ts';
import { formatPlain, lengthUnit, type ReportUnit } from '../format.ts';
import { useDaybook } from '../state/use.ts';
import type { MarkPoint, MarkShape } from '../../shared/index.ts';
import { nextSentence, pickStore } from '../marks/pick.ts';
import { benchStore, changeView } from './bench-state.ts';
import type { Pace } from './blended.ts';
import { drawStage, middleAt, type Scene } from './draw.ts';
import { fitPicture, fitTip, niceLength, polarDeg, zoomAbout, type Size } from './geometry.ts';
import { onStageKey, usePointer, useWayKeys, type StageHand } from './stage-input.ts';
import { useTurning } from './turning.ts';

type StageProps = {
  readonly scene: Scene;
  readonly counted: ReportUnit;
  /** Names the pair; a new one starts on its tip. */
  readonly pairKey: string;
  readonly label: string;
  /** Told where the controls around the stage can read it. */
  readonly sizeRef: { current: Size };
  readonly onPicked: (points: readonly MarkPoint[]) => void;
  readonly onMoved: (id: string, shape: MarkShape, rests: boolean) => void;
  readonly onShove?: StageHand['onShove'];
};

export function Stage(props: StageProps) {
  const { scene, counted, pairKey, label, sizeRef, onPicked, onMoved, onShove = null } = props;
  const canvas = useRef<HTMLCanvasElement>(null);
  // Only what stands in words around the canvas; the canvas itself follows the stores without React.
  const way = useStore(benchStore, (state) => state.way);
  const showsLater = useStore(benchStore, (state) => state.showsLater);
  const picking = useStore(pickStore, ({ pick }) => pick !== null);
  const [size, setSize] = useState<Size>({ width: 640, height: 480 });
  useTurning();
  useWayKeys(scene.single);
  useNothingUnder();
  useStageSize(
    canvas,
    useCallback(
      (next: Size) => {
        setSize(next);
        sizeRef.current = next;
      },
      [sizeRef],
    ),
  );
  useWheel(canvas, size);
  useFirstFit(scene, size, pairKey);
  useDrawing(canvas, size, scene);
  const hand: StageHand = {
    size,
    scene,
    onPicked,
    onMoved,
    onShove,
    fit: () => startView(scene, size),
  };
  const pointer = usePointer(hand, setUnder);
  return (
    <div className="stage">
      <div
        className="stage-focus"
        tabIndex={0}
        role="group"
        aria-label={label}
        onKeyDown={(event) => onStageKey(event, hand)}
      >
        <canvas
          ref={canvas}
          className={picking ? 'stage-canvas stage-canvas-picking' : 'stage-canvas'}
          aria-hidden="true"
          {...pointer}
        />
      </div>
      <ScaleBar counted={counted} width={size.width} />
      <PointerReadout counted={counted} />
      <PickingReadout counted={counted} />
      {way === 'turns' && !scene.single && (
        <p className="stage-which">{showsLater ? 'later picture' : 'baseline'}</p>
      )}
      {way === 'panes' && !scene.single && (
        <>
          <p className="stage-which">baseline</p>
          <p className="stage-which stage-which-right">later picture</p>
        </>
      )}
    </div>
  );
}

/** Frames that follow each other faster than this are a movement; after it the stage is drawn at its best. */
const REST_MS = 120;

/** Draws once a frame at most, whenever something that is drawn has changed. */
function useDrawing(canvas: { readonly current: HTMLCanvasElement | null }, size: Size, scene: Scene): void {
  // Laying a pair over by hand makes a new scene with every step, which is one movement all the same.
  const drawnAt = useRef(-Infinity);
  useEffect(() => {
    let frame = 0;
    let rest: ReturnType<typeof setTimeout> | undefined;
    const draw = (pace: Pace): void => {
      if (canvas.current === null) return;
      const { pick } = pickStore.getState();
      const final = drawStage(canvas.current, size, benchStore.getState(), scene, pick, pace);
      drawnAt.current = performance.now();
      clearTimeout(rest);
      if (!final) rest = setTimeout(() => draw('resting'), REST_MS);
    };
    const soon = (): void => {
      if (frame !== 0) return;
      frame = requestAnimationFrame(() => {
        frame = 0;
        draw(performance.now() - drawnAt.current < REST_MS ? 'moving' : 'resting');
      });
    };
    soon();
    const leave = [benchStore.subscribe(soon), pickStore.subscribe(soon)];
    return () => {
      cancelAnimationFrame(frame);
      clearTimeout(rest);
      for (const stop of leave) stop();
    };
  }, [canvas, size, scene]);
}

/** Where the pointer is; a store of its own, so that moving it draws nothing but the words that say so. */
const underStore = createStore<{ readonly under: TipPoint | null }>()(() => ({ under: null }));
const setUnder = (under: TipPoint | null): void => underStore.setState({ under });

/** What the pointer read goes with the screen that it was read on. */
function useNothingUnder(): void {
  useEffect(
    () => () => {
      setUnder(null);
      benchStore.setState({ probeDeg: null });
    },
    [],
  );
}

function useStageSize(
  canvas: { readonly current: HTMLCanvasElement | null },
  onSize: (size: Size) => void,
): void {
  useEffect(() => {
    const element = canvas.current?.parentElement;
    if (!element) return undefined;
    const observer = new ResizeObserver(([entry]) => {
      const { width, height } = entry.contentRect;
      if (width > 0 && height > 0) onSize({ width: Math.floor(width), height: Math.floor(height) });
    });
    observer.observe(element);
    return () => observer.disconnect();
  }, [canvas, onSize]);
}

/** React listens to wheels passively; zooming must keep the page from scrolling. */
function useWheel(canvas: { readonly current: HTMLCanvasElement | null }, size: Size): void {
  useEffect(() => {
    const element = canvas.current;
    if (element === null) return undefined;
    const wheel = (event: WheelEvent): void => {
      event.preventDefault();
      const box = element.getBoundingClientRect();
      const middle = middleAt(size, benchStore.getState().way, event.clientX - box.left);
      const point = { x: event.clientX - box.left - middle.x, y: event.clientY - box.top - middle.y };
      changeView((view) => zoomAbout(view, Math.exp(-event.deltaY / 400), point));
    };
    element.addEventListener('wheel', wheel, { passive: false });
    return () => element.removeEventListener('wheel', wheel);
  }, [canvas, size]);
}

/** The tip where one was found, else the whole picture. */
export function startView(scene: Scene, size: Size): void {
  const layer = scene.baseline ?? scene.later;
  if (scene.radiusUm !== null) changeView(() => fitTip(size, scene.radiusUm ?? 20));
  else if (layer !== null) showWhole(layer.pose, { width: layer.widthPx, height: layer.heightPx }, size);
}

export function showWhole(pose: Pose, picture: Size, size: Size): void {
  changeView((view) => fitPicture(size, pose, picture, view.turnDeg));
}

function useFirstFit(scene: Scene, size: Size, pairKey: string): void {
  const fitted = useRef('');
  const ready = scene.later !== null;
  const key = `${pairKey}/${scene.radiusUm === null ? 'whole' : 'tip'}/${size.width > 0}`;
  useEffect(() => {
    if (!ready || fitted.current === key) return;
    fitted.current = key;
    startView(scene, size);
    // Only a new pair or a first answer moves the view, never a resize or a tone.
    // oxlint-disable-next-line react/exhaustive-deps
  }, [ready, key]);
}

/** A length that fits, in the person's unit; without a scale, in per cent of the shank. */
export function scaleBar(
  zoom: number,
  width: number,
  shown: { factor: number; symbol: string },
): { px: number; label: string } {
  const pxPerUnit = zoom / shown.factor;
  const length = niceLength(Math.max(90, width * 0.22) / pxPerUnit);
  return { px: length * pxPerUnit, label: formatPlain(length, length < 1 ? 2 : 0, shown.symbol) };
}

function ScaleBar({ counted, width }: { readonly counted: ReportUnit; readonly width: number }) {
  const unit = useDaybook((state) => state.settings.unit);
  const zoom = useStore(benchStore, (state) => state.view.zoom);
  const bar = scaleBar(zoom, width, lengthUnit(unit, counted));
  return (
    <p className="scale-bar">
      <span style={{ width: bar.px }} aria-hidden="true" />
      <span className="visually-hidden">Scale bar: </span>
      {bar.label}
    </p>
  );
}

/** What to do next and where the crosshair stands, for eyes and ears. */
function PickingReadout({ counted }: { readonly counted: ReportUnit }) {
  const unit = useDaybook((state) => state.settings.unit);
  const picking = useStore(pickStore, ({ pick }) => pick);
  if (picking === null) return null;
  const { factor, symbol } = lengthUnit(unit, counted);
  const one = (value: number): string => formatPlain(value * factor, factor === 1 ? 1 : 3, '');
  const [x, y] = picking.cursor;
  return (
    <div className="picking">
      <p role="status">{nextSentence(picking)}</p>
      <p className="hint">
        Arrows move the crosshair, with Shift finely; Enter sets; Backspace takes back; Esc ends.
      </p>
      <p role="status">{`Crosshair: x ${one(x)}, y ${one(y)}\u00a0${symbol}`}</p>
    </div>
  );
}

function PointerReadout({ counted }: { readonly counted: ReportUnit }) {
  const unit = useDaybook((state) => state.settings.unit);
  const under = useStore(underStore, (state) => state.under);
  const picking = useStore(pickStore, ({ pick }) => pick !== null);
  if (under === null || picking) return null;
  const { factor, symbol } = lengthUnit(unit, counted);
  const digits = factor === 1 ? 1 : 3;
  const one = (value: number): string => formatPlain(value * factor, digits, '');
  return (
    <p className="pointer-readout" aria-hidden="true">
      {`x ${one(under.x)}   y ${one(under.y)} ${symbol}   ${formatPlain(polarDeg(under), 0, '')}°`}
    </p>
  );
}

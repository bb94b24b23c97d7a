// The stage moves with keys of its own, so it must be reachable; everything in it is said beside it in text.
/* oxlint-disable jsx-a11y/no-noninteractive-tabindex, jsx-a11y/no-noninteractive-element-interactions */
import { useCallback, useEffect, useRef, useState, type KeyboardEvent, type PointerEvent } from 'react';
import { useStore } from 'zustand';
import type { Pose, TipPoint } from '../../shared/geometry.ts';
import { formatPlain, lengthUnit, type ReportUnit } from '../format.ts';
import { useDaybook } from '../state/use.ts';
import { benchStore, changeView, chooseWay, turnBy, WAYS, zoomBy } from './bench-state.ts';
import { drawStage, edgeLine, middleAt, type Scene } from './draw.ts';
import {
  fitPicture,
  fitTip,
  fromStage,
  niceLength,
  panBy,
  polarDeg,
  zoomAbout,
  type Size,
} from './geometry.ts';
import { prefersCalm, useTurning } from './turning.ts';

type StageProps = {
  readonly scene: Scene;
  readonly counted: ReportUnit;
  /** Names the pair; a new one starts on its tip. */
  readonly pairKey: string;
  readonly label: string;
  /** Told where the controls around the stage can read it. */
  readonly sizeRef: { current: Size };
};

export function Stage({ scene, counted, pairKey, label, sizeRef }: StageProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const state = useStore(benchStore);
  const [size, setSize] = useState<Size>({ width: 640, height: 480 });
  const [under, setUnder] = useState<TipPoint | null>(null);
  useTurning();
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
  useEffect(() => {
    if (canvas.current === null) return undefined;
    const element = canvas.current;
    const frame = requestAnimationFrame(() => drawStage(element, size, state, scene));
    return () => cancelAnimationFrame(frame);
  }, [size, state, scene]);
  const pointer = usePointer(size, scene, setUnder);
  return (
    <div className="stage">
      <div
        className="stage-focus"
        tabIndex={0}
        role="group"
        aria-label={label}
        onKeyDown={(event) => onKey(event, size, scene)}
      >
        <canvas ref={canvas} className="stage-canvas" aria-hidden="true" {...pointer} />
      </div>
      <ScaleBar counted={counted} width={size.width} />
      <PointerReadout under={under} counted={counted} />
      {state.way === 'turns' && !scene.single && (
        <p className="stage-which">{state.showsLater ? 'later picture' : 'baseline'}</p>
      )}
      {state.way === 'panes' && !scene.single && (
        <>
          <p className="stage-which">baseline</p>
          <p className="stage-which stage-which-right">later picture</p>
        </>
      )}
    </div>
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

type Drag = { readonly kind: 'pan' | 'edge'; x: number; y: number };

function usePointer(size: Size, scene: Scene, setUnder: (point: TipPoint | null) => void) {
  const drag = useRef<Drag | null>(null);
  const place = (event: PointerEvent<HTMLCanvasElement>): { x: number; y: number } => {
    const box = event.currentTarget.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  return {
    onPointerDown(event: PointerEvent<HTMLCanvasElement>) {
      const at = place(event);
      event.currentTarget.setPointerCapture(event.pointerId);
      drag.current = { kind: onEdge(at, size, scene) ? 'edge' : 'pan', ...at };
    },
    onPointerMove(event: PointerEvent<HTMLCanvasElement>) {
      const at = place(event);
      const state = benchStore.getState();
      const held = drag.current;
      if (held?.kind === 'edge') return moveEdge(at, size);
      if (held?.kind === 'pan') {
        changeView((view) => panBy(view, at.x - held.x, at.y - held.y));
        drag.current = { kind: 'pan', ...at };
        return undefined;
      }
      const middle = middleAt(size, state.way, at.x);
      const point = fromStage(state.view, { x: at.x - middle.x, y: at.y - middle.y });
      setUnder(point);
      // Near the tip the pointer picks the angle that the profile plot shows.
      const radius = scene.radiusUm ?? 0;
      const away = Math.hypot(point.x, point.y);
      if (away > 0.4 * radius && away < 2.5 * radius) {
        const degrees = Math.round(polarDeg(point) * 2) / 2;
        if (degrees >= -60 && degrees <= 240) benchStore.setState({ probeDeg: degrees });
      }
      return undefined;
    },
    onPointerUp() {
      drag.current = null;
    },
    onPointerLeave() {
      setUnder(null);
    },
  };
}

function onEdge(at: { x: number; y: number }, size: Size, scene: Scene): boolean {
  const state = benchStore.getState();
  if (state.way !== 'edge' || scene.single) return false;
  const { x, y, nx, ny } = edgeLine(size, state);
  return Math.abs((at.x - x) * nx + (at.y - y) * ny) <= 14;
}

function moveEdge(at: { x: number; y: number }, size: Size): void {
  const { nx, ny } = edgeLine(size, { edgeDeg: benchStore.getState().edgeDeg, edgePercent: 0 });
  const away = (at.x - size.width / 2) * nx + (at.y - size.height / 2) * ny;
  const percent = (100 * away) / Math.hypot(size.width, size.height);
  benchStore.setState({ edgePercent: Math.round(Math.max(-50, Math.min(50, percent)) * 10) / 10 });
}

const PAN: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [40, 0],
  ArrowRight: [-40, 0],
  ArrowUp: [0, 40],
  ArrowDown: [0, -40],
};

function onKey(event: KeyboardEvent, size: Size, scene: Scene): void {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const step = PAN[event.key];
  const way = WAYS[Number(event.key) - 1];
  if (step !== undefined) {
    const times = event.shiftKey ? 5 : 1;
    changeView((view) => panBy(view, step[0] * times, step[1] * times));
  } else if (event.key === '+' || event.key === '=') zoomBy(1.25);
  else if (event.key === '-') zoomBy(0.8);
  else if (event.key === '0') startView(scene, size);
  else if (event.key === '[') turnBy(5);
  else if (event.key === ']') turnBy(-5);
  else if (event.key === ' ' && benchStore.getState().way === 'turns')
    benchStore.setState((state) => ({ turning: !state.turning }));
  else if (way !== undefined && !scene.single) chooseWay(way, prefersCalm());
  else return;
  event.preventDefault();
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

function PointerReadout({
  under,
  counted,
}: {
  readonly under: TipPoint | null;
  readonly counted: ReportUnit;
}) {
  const unit = useDaybook((state) => state.settings.unit);
  if (under === null) return null;
  const { factor, symbol } = lengthUnit(unit, counted);
  const digits = factor === 1 ? 1 : 3;
  const one = (value: number): string => formatPlain(value * factor, digits, '');
  return (
    <p className="pointer-readout" aria-hidden="true">
      {`x ${one(under.x)}   y ${one(under.y)} ${symbol}   ${formatPlain(polarDeg(under), 0, '')}°`}
    </p>
  );
}

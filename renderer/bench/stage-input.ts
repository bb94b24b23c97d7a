import { useEffect, useRef, type KeyboardEvent, type PointerEvent } from 'react';
import { imageToTip, type TipPoint } from '../../shared/geometry.ts';
import { pointsOf, withPoints, type MarkPoint, type MarkShape } from '../../shared/index.ts';
import { dropPoint, LEAST, moveCursor, pickStore, setPoint, stopPick } from '../marks/pick.ts';
import { shiftedShape } from '../marks/use-marking.ts';
import { benchStore, changeView, chooseWay, turnBy, WAYS, zoomBy } from './bench-state.ts';
import { edgeLine, middleAt, type Scene } from './draw.ts';
import { fromStage, panBy, polarDeg, toStage, type Size, type StagePoint } from './geometry.ts';
import { prefersCalm } from './turning.ts';

/** What hands do on the stage: move, zoom, turn, set points, drag handles, and the keys for all of it. */
export type StageHand = {
  readonly size: Size;
  readonly scene: Scene;
  readonly onPicked: (points: readonly MarkPoint[]) => void;
  readonly onMoved: (id: string, shape: MarkShape, rests: boolean) => void;
  /** The later picture is being laid over the baseline: moved by screen pixels, turned by degrees. */
  readonly onShove: ((dx: number, dy: number, turnDeg: number) => void) | null;
  readonly fit: () => void;
};

type Drag =
  | { readonly kind: 'pan' | 'edge' | 'shove'; x: number; y: number }
  | { readonly kind: 'pick'; readonly x: number; readonly y: number; readonly from: MarkPoint }
  | {
      readonly kind: 'handle';
      readonly id: string;
      readonly index: number;
      readonly shape: MarkShape;
      /** Where the hand came down, as long as it may be no more than a click. */
      readonly still: StagePoint | null;
    };

/** A click may tremble by this much, CSS pixels. */
const STILL_PX = 4;
const HANDLE_PX = 12;

const away = (a: StagePoint, b: StagePoint): number => Math.hypot(a.x - b.x, a.y - b.y);

export function usePointer(hand: StageHand, setUnder: (point: TipPoint | null) => void) {
  const drag = useRef<Drag | null>(null);
  const { size, scene } = hand;
  const place = (event: PointerEvent<HTMLCanvasElement>): StagePoint => {
    const box = event.currentTarget.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  return {
    onPointerDown(event: PointerEvent<HTMLCanvasElement>) {
      const at = place(event);
      event.currentTarget.setPointerCapture(event.pointerId);
      drag.current = beginDrag(at, hand);
    },
    onPointerMove(event: PointerEvent<HTMLCanvasElement>) {
      const at = place(event);
      const held = drag.current;
      if (held !== null) drag.current = dragged(held, at, hand);
      else setUnder(hover(at, size, scene));
    },
    onPointerUp(event: PointerEvent<HTMLCanvasElement>) {
      const held = drag.current;
      drag.current = null;
      if (held !== null) dropped(held, place(event), hand);
    },
    onPointerCancel() {
      drag.current = null;
      pickStore.setState({ moved: null });
    },
    onPointerLeave() {
      setUnder(null);
    },
  };
}

const inFrame = (at: StagePoint, size: Size): TipPoint => {
  const state = benchStore.getState();
  const middle = middleAt(size, state.way, at.x);
  return fromStage(state.view, { x: at.x - middle.x, y: at.y - middle.y });
};
const pair = ({ x, y }: TipPoint): MarkPoint => [x, y];

/** Where a point of the frame stands on the stage; in two panes, in the pane that `near` lies in. */
function onCanvas([x, y]: MarkPoint, size: Size, near: StagePoint): StagePoint {
  const state = benchStore.getState();
  const middle = middleAt(size, state.way, near.x);
  const p = toStage(state.view, { x, y });
  return { x: p.x + middle.x, y: p.y + middle.y };
}

export function beginDrag(at: StagePoint, { size, scene, onShove }: StageHand): Drag {
  const { pick } = pickStore.getState();
  if (pick !== null) return { kind: 'pick', ...at, from: pair(inFrame(at, size)) };
  // Where two marks lie on each other, the hand has the one that is picked out.
  for (const mark of scene.marks.toSorted((a, b) => Number(b.selected) - Number(a.selected)))
    for (const [index, point] of pointsOf(mark.shape).entries())
      if (away(onCanvas(point, size, at), at) <= HANDLE_PX) {
        if (!mark.selected) pickStore.setState({ selected: mark.id });
        // A click that picks a mark out may tremble without moving it.
        return { kind: 'handle', id: mark.id, index, shape: mark.shape, still: mark.selected ? null : at };
      }
  if (onShove !== null) return { kind: 'shove', ...at };
  return { kind: onEdge(at, size, scene) ? 'edge' : 'pan', ...at };
}

export function dragged(held: Drag, at: StagePoint, hand: StageHand): Drag {
  const { size } = hand;
  switch (held.kind) {
    case 'edge':
      moveEdge(at, size);
      return held;
    case 'pan':
      changeView((view) => panBy(view, at.x - held.x, at.y - held.y));
      return { kind: 'pan', ...at };
    case 'shove':
      hand.onShove?.(at.x - held.x, at.y - held.y, 0);
      return { kind: 'shove', ...at };
    case 'handle': {
      if (held.still !== null && away(held.still, at) <= STILL_PX) return held;
      const points = pointsOf(held.shape).map((point, i) =>
        i === held.index ? pair(inFrame(at, size)) : point,
      );
      const shape = withPoints(held.shape, points);
      pickStore.setState({ moved: { id: held.id, shape } });
      return { ...held, shape, still: null };
    }
    case 'pick':
      break;
  }
  moveCursor(pair(inFrame(at, size)));
  if (away(at, held) <= STILL_PX || pickStore.getState().pick?.shape === 'line') return held;
  return { kind: 'pan', ...at };
}

export function dropped(held: Drag, at: StagePoint, hand: StageHand): void {
  if (held.kind === 'handle')
    return held.still === null ? hand.onMoved(held.id, held.shape, true) : undefined;
  if (held.kind !== 'pick') return undefined;
  const { pick } = pickStore.getState();
  if (pick === null) return undefined;
  const point = pair(inFrame(at, hand.size));
  // A line may be drawn in one pull.
  if (pick.shape === 'line' && pick.points.length === 0 && away(at, held) > STILL_PX) {
    setPoint(held.from);
    return place(point, hand);
  }
  const [first] = pick.points;
  const closes =
    pick.purpose === 'mark' &&
    pick.shape === 'outline' &&
    pick.points.length >= LEAST.outline &&
    away(onCanvas(first, hand.size, at), at) <= HANDLE_PX;
  return closes ? hand.onPicked(pick.points) : place(point, hand);
}

function place(point: MarkPoint, hand: StageHand): void {
  const done = setPoint(point);
  if (done !== null) hand.onPicked(done);
}

/** Near the tip the pointer picks the angle that the profile plot shows. */
function hover(at: StagePoint, size: Size, scene: Scene): TipPoint {
  const point = inFrame(at, size);
  if (pickStore.getState().pick !== null) moveCursor(pair(point));
  const radius = scene.radiusUm ?? 0;
  const far = Math.hypot(point.x, point.y);
  if (far > 0.4 * radius && far < 2.5 * radius) {
    const degrees = Math.round(polarDeg(point) * 2) / 2;
    if (degrees >= -60 && degrees <= 240) benchStore.setState({ probeDeg: degrees });
  }
  return point;
}

function onEdge(at: StagePoint, size: Size, scene: Scene): boolean {
  const state = benchStore.getState();
  if (state.way !== 'edge' || scene.single) return false;
  const { x, y, nx, ny } = edgeLine(size, state);
  return Math.abs((at.x - x) * nx + (at.y - y) * ny) <= 14;
}

function moveEdge(at: StagePoint, size: Size): void {
  const { nx, ny } = edgeLine(size, { edgeDeg: benchStore.getState().edgeDeg, edgePercent: 0 });
  const along = (at.x - size.width / 2) * nx + (at.y - size.height / 2) * ny;
  const percent = (100 * along) / Math.hypot(size.width, size.height);
  benchStore.setState({ edgePercent: Math.round(Math.max(-50, Math.min(50, percent)) * 10) / 10 });
}

const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};
const PAN_PX = 40;

/** Screen pixels as a step in the stage's frame, whichever way that is turned. */
function frameStep(dx: number, dy: number): MarkPoint {
  const { view } = benchStore.getState();
  const turned = { xPx: 0, yPx: 0, rotationDeg: view.turnDeg, umPerPx: 1 / view.zoom };
  return pair(imageToTip(turned, { x: dx, y: dy }));
}

export function onStageKey(event: KeyboardEvent, hand: StageHand): void {
  if (event.altKey) return;
  const taken =
    pickStore.getState().pick !== null
      ? onPickKey(event, hand)
      : event.ctrlKey || event.metaKey
        ? onNudgeKey(event, hand)
        : (hand.onShove !== null && onShoveKey(event, hand.onShove)) || onLookKey(event, hand);
  if (!taken) return;
  event.preventDefault();
  event.stopPropagation();
}

/** Where a digit is typed, or chooses by its letters, or belongs to what lies over the stage. */
const TAKES_DIGITS =
  'input:not([type=checkbox], [type=radio], [type=range]), select, textarea, [contenteditable], [role=dialog], [role=menu]';

/** The keys 1 to 6 choose the way of looking wherever the hands are on the bench. */
export function useWayKeys(single: boolean): void {
  useEffect(() => {
    if (single) return undefined;
    const press = (event: globalThis.KeyboardEvent): void => {
      const way = WAYS[Number(event.key) - 1];
      if (way === undefined || event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey)
        return;
      if (event.target instanceof Element && event.target.closest(TAKES_DIGITS) !== null) return;
      if (document.querySelector('[role=dialog]') !== null) return;
      event.preventDefault();
      chooseWay(way, prefersCalm());
    };
    addEventListener('keydown', press);
    return () => removeEventListener('keydown', press);
  }, [single]);
}

function onPickKey(event: KeyboardEvent, hand: StageHand): boolean {
  const { pick } = pickStore.getState();
  if (pick === null || event.ctrlKey || event.metaKey) return false;
  const step = ARROWS[event.key];
  if (step !== undefined) {
    // Large steps to get there, single screen pixels to set it well.
    const px = event.shiftKey ? 1 : 10;
    const [dx, dy] = frameStep(step[0] * px, step[1] * px);
    moveCursor([pick.cursor[0] + dx, pick.cursor[1] + dy]);
    return true;
  }
  if (event.key === 'Escape') stopPick();
  else if (event.key === 'Backspace' || event.key === 'Delete') dropPoint();
  else if (event.key === 'Enter' || event.key === ' ') enterPoint(hand);
  else return onLookKey(event, hand);
  return true;
}

function enterPoint(hand: StageHand): void {
  const { pick } = pickStore.getState();
  if (pick === null) return;
  const last = pick.points.at(-1);
  const still = last !== undefined && last[0] === pick.cursor[0] && last[1] === pick.cursor[1];
  if (!still) return place(pick.cursor, hand);
  // The same place twice: an outline is closed, anything else still waits for another place.
  if (pick.purpose === 'mark' && pick.shape === 'outline' && pick.points.length >= LEAST.outline)
    return hand.onPicked(pick.points);
  return undefined;
}

/** Ctrl and an arrow push the picked-out mark along. */
function onNudgeKey(event: KeyboardEvent, { scene, onMoved }: StageHand): boolean {
  const step = ARROWS[event.key];
  const mark = scene.marks.find((one) => one.selected);
  if (step === undefined || mark === undefined) return false;
  const px = event.shiftKey ? 10 : 1;
  const [dx, dy] = frameStep(step[0] * px, step[1] * px);
  onMoved(mark.id, shiftedShape(mark.shape, dx, dy), false);
  return true;
}

function onShoveKey(event: KeyboardEvent, onShove: NonNullable<StageHand['onShove']>): boolean {
  const step = ARROWS[event.key];
  const px = event.shiftKey ? 10 : 1;
  if (step !== undefined) onShove(step[0] * px, step[1] * px, 0);
  else if (event.key === '[' || event.key === '{') onShove(0, 0, event.key === '[' ? 0.2 : 2);
  else if (event.key === ']' || event.key === '}') onShove(0, 0, event.key === ']' ? -0.2 : -2);
  else return false;
  return true;
}

function onLookKey(event: KeyboardEvent, { fit }: StageHand): boolean {
  const step = ARROWS[event.key];
  if (step !== undefined) {
    const px = PAN_PX * (event.shiftKey ? 5 : 1);
    changeView((view) => panBy(view, -step[0] * px, -step[1] * px));
  } else if (event.key === '+' || event.key === '=') zoomBy(1.25);
  else if (event.key === '-') zoomBy(0.8);
  else if (event.key === '0') fit();
  else if (event.key === '[') turnBy(5);
  else if (event.key === ']') turnBy(-5);
  else if (event.key === ' ' && benchStore.getState().way === 'turns')
    benchStore.setState((state) => ({ turning: !state.turning }));
  else if (event.key === 'Escape' && pickStore.getState().selected !== null)
    pickStore.setState({ selected: null });
  else return false;
  return true;
}

import type { TipPoint } from '../../shared/geometry.ts';
import type { Picking } from '../marks/pick.ts';
import type { BenchState } from './bench-state.ts';
import { putBlend, putKept, type Blend, type Pace } from './blended.ts';
import { drawFacets, type DrawnFacet } from './draw-facets.ts';
import { drawDifference, turnOver } from './difference.ts';
import { drawMarks, drawPicking, type DrawnMark } from './draw-marks.ts';
import { bitmapMatrix, toStage, type Size, type StagePoint } from './geometry.ts';
import { levelFor, type Layer } from './layers.ts';

/** Draws the stage. Colours: blue for the baseline, orange for the later picture; together they make white. */
export const TINTS = { baseline: '#0073ff', later: '#ff8c00' } as const;
/** The same two for lines on a dark picture, lightened. */
const LINES = { baseline: '#6db3ff', later: '#ffa733' } as const;
const WHITE = { baseline: '#ffffff', later: '#ffffff' } as const;

/**
 * Colours of the two outlines. Where blue and orange fill the stage and say something else there, the outlines are both
 * white and told apart by their strokes alone: solid for the baseline, dashed for the later picture.
 */
export const linesIn = (way: BenchState['way']): Readonly<Record<Which, string>> =>
  way in BLENDS ? WHITE : LINES;

export type Contour = readonly (readonly [number, number])[];
export type Scene = {
  readonly baseline: Layer | null;
  readonly later: Layer | null;
  readonly contours: { readonly baseline: Contour; readonly later: Contour } | null;
  /** In the stage's frame. */
  readonly marks: readonly DrawnMark[];
  /** Only in an end-on picture that was examined. */
  readonly facets?: readonly DrawnFacet[];
  readonly radiusUm: number | null;
  /** One picture alone, as `later`. */
  readonly single: boolean;
};

type Pen = {
  readonly context: CanvasRenderingContext2D;
  readonly size: Size;
  readonly ratio: number;
  readonly state: BenchState;
  readonly scene: Scene;
  /** Points being set; their pane where each picture has its own. */
  readonly picking: Picking | null;
  /** Null for a drawing that is made once. */
  readonly pace: Pace | null;
};

/** True when what stands there is final; false when a frame at rest would draw it better. */
export function drawStage(
  canvas: HTMLCanvasElement,
  size: Size,
  state: BenchState,
  scene: Scene,
  picking: Picking | null = null,
  pace: Pace | null = null,
  ratio = globalThis.devicePixelRatio || 1,
): boolean {
  const context = canvas.getContext('2d');
  if (context === null) return true;
  const width = Math.round(size.width * ratio);
  const height = Math.round(size.height * ratio);
  if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });
  const pen = { context, size, ratio, state, scene, picking, pace };
  if (scene.single || !(state.way in BLENDS)) clear(pen);
  if (scene.single) return drawSingle(pen);
  return DRAW[state.way](pen);
}

function clear({ context, size, ratio }: Pen): void {
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.globalCompositeOperation = 'source-over';
  context.globalAlpha = 1;
  context.fillStyle = '#000';
  context.fillRect(0, 0, size.width, size.height);
}

const middleOf = ({ width, height }: Size): StagePoint => ({ x: width / 2, y: height / 2 });

type Drawn = { readonly tinted?: boolean; readonly smooth?: boolean };

function drawPicture(
  pen: Pen,
  layer: Layer | null,
  middle: StagePoint,
  { tinted = false, smooth = true }: Drawn = {},
): void {
  if (layer === null) return;
  const { context, ratio, state } = pen;
  const level = levelFor(layer, state.view.zoom * layer.pose.umPerPx * ratio);
  const m = bitmapMatrix(state.view, layer.pose, level.reduction, middle);
  context.save();
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.transform(...m);
  // A pixel larger than four screen pixels is shown as what it is.
  context.imageSmoothingEnabled = smooth && Math.hypot(m[0], m[1]) * ratio < 4;
  context.drawImage((tinted ? level.tinted : null) ?? level.image, 0, 0);
  context.restore();
}

const isMoving = ({ pace }: Pen): boolean => pace === 'moving';
/** While more frames follow at once, quick counts more than smooth. */
const byPace = (pen: Pen): Drawn => ({ smooth: !isMoving(pen) });

/** How the later picture is put onto the baseline, which lies on black, inside the context's clip. */
const BLENDS: Readonly<Partial<Record<BenchState['way'], (pen: Pen, smooth: boolean) => void>>> = {
  over(pen, smooth) {
    pen.context.globalCompositeOperation = 'lighter';
    drawPicture(pen, pen.scene.later, middleOf(pen.size), { tinted: true, smooth });
    pen.context.globalCompositeOperation = 'source-over';
  },
  difference(pen, smooth) {
    drawDifference({ ...pen, ...pen.scene, ...pen.state }, () =>
      drawPicture(pen, pen.scene.later, middleOf(pen.size), { smooth }),
    );
  },
};

function drawBlended(pen: Pen): boolean {
  const { context, size, ratio, state, scene, pace } = pen;
  const paintGround: Blend['paintGround'] = (on, view, smooth, own) => {
    const there = { ...pen, context: on, ratio: own, state: { ...state, view } };
    clear(there);
    drawPicture(there, scene.baseline, middleOf(size), { tinted: state.way === 'over', smooth });
    if (state.way === 'difference') turnOver({ ...there, view }, scene.baseline);
  };
  const paintUpper: Blend['paintUpper'] = (on, view, smooth, own) => {
    BLENDS[state.way]?.({ ...pen, context: on, ratio: own, state: { ...state, view } }, smooth);
  };
  let exact = true;
  if (pace === null) {
    paintGround(context, state.view, true, ratio);
    paintUpper(context, state.view, true, ratio);
  } else {
    const { zoom, turnDeg } = state.view;
    const { baseline, later } = scene;
    const key = [state.way, zoom, turnDeg, size.width, size.height, ratio, state.gain, baseline, later];
    const groundKey = [baseline, state.way];
    const blend = { key, view: state.view, size, ratio, groundKey, paintGround, paintUpper };
    exact = putBlend(context, blend, pace);
  }
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  drawLines(pen, middleOf(size), ['baseline', 'later']);
  return exact;
}

const DRAW: Readonly<Record<BenchState['way'], (pen: Pen) => boolean>> = {
  over: drawBlended,
  difference: drawBlended,
  turns(pen) {
    const which = pen.state.showsLater ? 'later' : 'baseline';
    const { scene, size, ratio, state, pace, context } = pen;
    const layer = scene[which];
    const paint = (on: CanvasRenderingContext2D): void => {
      clear({ ...pen, context: on });
      drawPicture({ ...pen, context: on }, layer, middleOf(size), byPace(pen));
    };
    if (pace === 'resting')
      putKept(context, which, [layer, state.view, size.width, size.height, ratio], paint);
    else paint(context);
    drawLines(pen, middleOf(size), [which]);
    return !isMoving(pen);
  },
  edge(pen) {
    const middle = middleOf(pen.size);
    drawPicture(pen, pen.scene.baseline, middle, byPace(pen));
    pen.context.save();
    halfPlane(pen.context, edgeLine(pen.size, pen.state));
    pen.context.fillStyle = '#000';
    pen.context.fillRect(0, 0, pen.size.width, pen.size.height);
    drawPicture(pen, pen.scene.later, middle, byPace(pen));
    pen.context.restore();
    drawLines(pen, middle, ['baseline', 'later']);
    drawEdge(pen);
    labelEdge(pen);
    return !isMoving(pen);
  },
  panes(pen) {
    for (const [index, which] of (['baseline', 'later'] as const).entries())
      inPane(pen, index, (middle) => {
        drawPicture(pen, pen.scene[which], middle, byPace(pen));
        drawLines(pen, middle, [which]);
      });
    return !isMoving(pen);
  },
  outlines(pen) {
    drawLines(pen, middleOf(pen.size), ['baseline', 'later'], true);
    return true;
  },
};

function drawSingle(pen: Pen): boolean {
  drawPicture(pen, pen.scene.later, middleOf(pen.size), byPace(pen));
  drawLines(pen, middleOf(pen.size), ['later']);
  return !isMoving(pen);
}

function inPane(pen: Pen, index: number, draw: (middle: StagePoint) => void): void {
  const { context, size } = pen;
  const width = size.width / 2;
  context.save();
  context.beginPath();
  context.rect(index * width, 0, width - 1, size.height);
  context.clip();
  draw({ x: width * (index + 0.5), y: size.height / 2 });
  context.restore();
}

export type EdgeLine = { readonly x: number; readonly y: number; readonly nx: number; readonly ny: number };

/** The movable edge: a point on it and the direction towards the later picture. */
export function edgeLine(size: Size, state: Pick<BenchState, 'edgeDeg' | 'edgePercent'>): EdgeLine {
  const a = (state.edgeDeg * Math.PI) / 180;
  const nx = Math.cos(a);
  const ny = -Math.sin(a);
  const away = (state.edgePercent / 100) * Math.hypot(size.width, size.height);
  return { x: size.width / 2 + nx * away, y: size.height / 2 + ny * away, nx, ny };
}

function halfPlane(context: CanvasRenderingContext2D, { x, y, nx, ny }: EdgeLine): void {
  const far = 20_000;
  context.beginPath();
  context.moveTo(x - ny * far, y + nx * far);
  context.lineTo(x + ny * far, y - nx * far);
  context.lineTo(x + (ny + nx) * far, y + (ny - nx) * far);
  context.lineTo(x + (nx - ny) * far, y + (nx + ny) * far);
  context.closePath();
  context.clip();
}

function drawEdge({ context, size, state }: Pen): void {
  const { x, y, nx, ny } = edgeLine(size, state);
  const far = 20_000;
  context.beginPath();
  context.moveTo(x - ny * far, y + nx * far);
  context.lineTo(x + ny * far, y - nx * far);
  stroke(context, '#fff', 1.5);
  context.beginPath();
  context.arc(x, y, 9, 0, 2 * Math.PI);
  context.fillStyle = '#fff';
  context.fill();
  stroke(context, '#000', 1);
}

/** Says on which side of the edge which picture is. */
function labelEdge({ context, size, state }: Pen): void {
  const { x, y, nx, ny } = edgeLine(size, state);
  drawText(context, 'baseline', x - nx * 60, y - ny * 60);
  drawText(context, 'later', x + nx * 60, y + ny * 60);
}

function drawText(context: CanvasRenderingContext2D, text: string, x: number, y: number): void {
  context.font = '600 13px system-ui, sans-serif';
  context.textAlign = 'center';
  const width = context.measureText(text).width + 14;
  context.fillStyle = 'rgba(0, 0, 0, 0.72)';
  context.fillRect(x - width / 2, y - 11, width, 22);
  context.fillStyle = '#fff';
  context.fillText(text, x, y + 5);
  context.textAlign = 'start';
}

/** Every line gets a dark seam, so that it shows on bright and dark alike. */
function stroke(context: CanvasRenderingContext2D, colour: string, width: number): void {
  const dash = context.getLineDash();
  context.setLineDash([]);
  context.lineWidth = width + 2;
  context.strokeStyle = 'rgba(0, 0, 0, 0.55)';
  context.stroke();
  context.setLineDash(dash);
  context.lineWidth = width;
  context.strokeStyle = colour;
  context.stroke();
}

type Which = 'baseline' | 'later';

function drawLines(pen: Pen, middle: StagePoint, which: readonly Which[], always = false): void {
  const { context, state, scene } = pen;
  const { view } = state;
  const on = (point: TipPoint): StagePoint => {
    const p = toStage(view, point);
    return { x: p.x + middle.x, y: p.y + middle.y };
  };
  if (state.walls) drawWalls(context, on, scene.radiusUm ?? 20);
  if (scene.contours !== null && (state.outlines || always))
    for (const one of which) {
      // Solid and dashed, so that the two stay apart without colour.
      context.setLineDash(one === 'later' ? [7, 5] : []);
      tracePath(context, scene.contours[one], on);
      stroke(context, (scene.single ? LINES : linesIn(state.way))[one], 1.6);
      context.setLineDash([]);
    }
  if (scene.facets !== undefined && state.outlines) drawFacets(context, on, scene.facets, pen.size);
  drawMarks(context, on, scene.marks);
  if (pen.picking !== null && picksIn(pen.picking, which)) drawPicking(context, on, pen.picking);
  if (state.probeDeg !== null && scene.radiusUm !== null)
    drawProbe(context, on, state.probeDeg, scene.radiusUm);
}

type Place = (point: TipPoint) => StagePoint;

function tracePath(context: CanvasRenderingContext2D, contour: Contour, on: Place): void {
  context.beginPath();
  for (const [x, y] of contour) {
    const p = on({ x, y });
    context.lineTo(p.x, p.y);
  }
}

/** The tip frame's axes and the groove's two walls, each touching the unworn tip. */
function drawWalls(context: CanvasRenderingContext2D, on: Place, radius: number): void {
  const line = (a: TipPoint, b: TipPoint, colour: string): void => {
    const from = on(a);
    const to = on(b);
    context.beginPath();
    context.moveTo(from.x, from.y);
    context.lineTo(to.x, to.y);
    stroke(context, colour, 1);
  };
  context.setLineDash([2, 4]);
  line({ x: -3 * radius, y: 0 }, { x: 3 * radius, y: 0 }, '#d8dee4');
  line({ x: 0, y: -3 * radius }, { x: 0, y: 2 * radius }, '#d8dee4');
  context.setLineDash([]);
  // In a 90 degree groove both walls meet at sqrt(2) R below the tip's centre.
  const bottom = { x: 0, y: Math.SQRT2 * radius };
  for (const side of [1, -1]) line(bottom, { x: side * 2.4 * radius, y: bottom.y - 2.4 * radius }, '#f4f6f8');
}

function drawProbe(context: CanvasRenderingContext2D, on: Place, degrees: number, radius: number): void {
  const a = (degrees * Math.PI) / 180;
  const from = on({ x: 0.55 * radius * Math.cos(a), y: 0.55 * radius * Math.sin(a) });
  const to = on({ x: 1.6 * radius * Math.cos(a), y: 1.6 * radius * Math.sin(a) });
  context.beginPath();
  context.moveTo(from.x, from.y);
  context.lineTo(to.x, to.y);
  stroke(context, '#fff', 1.5);
}

/** Points in common are set in the baseline's pane and the later one's by turns. */
function picksIn({ purpose, points }: Picking, which: readonly Which[]): boolean {
  if (purpose !== 'match' || which.length > 1) return true;
  return which[0] === (points.length % 2 === 0 ? 'baseline' : 'later');
}

/** Which middle a stage point belongs to: in two panes each has its own. */
export function middleAt(size: Size, way: BenchState['way'], x: number): StagePoint {
  if (way !== 'panes') return middleOf(size);
  return { x: size.width * (x < size.width / 2 ? 0.25 : 0.75), y: size.height / 2 };
}

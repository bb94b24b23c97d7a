import { panBy, toStage, type Size, type StageView } from './geometry.ts';

/**
 * Two pictures blended into one, kept as they were drawn. Where the processor draws, blending them anew costs the page
 * 6 to 9 ms a frame; moving along what is there already costs less than one. So while the view is only pushed along,
 * what was drawn moves by whole device pixels and only the strips that come into view are blended.
 */
export type Blend = {
  /** Everything but the place that decides what is drawn; compared one by one. */
  readonly key: readonly unknown[];
  readonly view: StageView;
  readonly size: Size;
  readonly ratio: number;
  /** What decides how the lower picture looks, beside the view. */
  readonly groundKey: readonly unknown[];
  /** Draws the lower picture inside the context's clip, as seen by `view`; `smooth` false where it need only be quick. */
  readonly paintGround: Paint;
  /** Draws the upper one on it. */
  readonly paintUpper: Paint;
};
/** `ratio`: pixels of the context for a CSS pixel. */
type Paint = (context: CanvasRenderingContext2D, view: StageView, smooth: boolean, ratio: number) => void;

/** `moving`: more frames follow at once, so quick counts more than smooth. */
export type Pace = 'moving' | 'resting';

type Sheet = { readonly canvas: HTMLCanvasElement; readonly context: CanvasRenderingContext2D };
type Kept = {
  key: readonly unknown[];
  smooth: boolean;
  sheet: Sheet;
  spare: Sheet;
  /** Where the tip frame's origin lies on the sheet, device pixels. */
  originX: number;
  originY: number;
};

const kept = new WeakMap<HTMLCanvasElement, Kept>();

/** The lower picture alone: it stays while the upper one is pushed over it by hand. */
type Ground = { key: readonly unknown[]; sheet: Sheet | null };
const grounds = new WeakMap<HTMLCanvasElement, Ground>();

/** A hundredth of a device pixel is not seen. */
const STILL_PX = 0.01;

/** Puts the blend onto the stage's canvas; true when it is what a fresh drawing would be. */
export function putBlend(context: CanvasRenderingContext2D, blend: Blend, pace: Pace): boolean {
  const { canvas } = context;
  const known = kept.get(canvas);
  const put = known !== undefined && sameKey(known.key, blend.key) ? movedAlong(known, blend, pace) : null;
  const { drawn, exact } = put ?? drawnAnew(canvas, blend, pace);
  context.save();
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.imageSmoothingEnabled = false;
  context.drawImage(drawn.canvas, 0, 0, canvas.width, canvas.height);
  context.restore();
  return exact;
}

/**
 * What a frame of a moving picture cost lately, blended anew with every pixel, milliseconds. A browser that draws without
 * a graphics card may need too long: then every second pixel must do until the picture is at rest.
 */
let wholeMs = 0;
const MOST_WHOLE_MS = 2.5;
const COARSE = 2;
const coarse = new WeakMap<HTMLCanvasElement, Sheet>();

const sameKey = (a: readonly unknown[], b: readonly unknown[]): boolean =>
  a.length === b.length && a.every((value, i) => Object.is(value, b[i]));

type Put = { readonly drawn: Sheet; readonly exact: boolean };

function originOf({ view, ratio }: Blend): readonly [number, number] {
  const { x, y } = toStage(view, { x: 0, y: 0 });
  return [x * ratio, y * ratio];
}

/** Null where moving along does not do: too far, or at rest and not what a fresh drawing would be. */
function movedAlong(known: Kept, blend: Blend, pace: Pace): Put | null {
  const [x, y] = originOf(blend);
  const dx = Math.round(x - known.originX);
  const dy = Math.round(y - known.originY);
  const restX = x - known.originX - dx;
  const restY = y - known.originY - dy;
  const exact = known.smooth && Math.max(Math.abs(restX), Math.abs(restY)) < STILL_PX;
  if (!exact && pace === 'resting') return null;
  const { width, height } = known.sheet.canvas;
  if (2 * Math.abs(dx) > width || 2 * Math.abs(dy) > height) return null;
  if (dx !== 0 || dy !== 0) {
    const view = panBy(blend.view, -restX / blend.ratio, -restY / blend.ratio);
    pushSheet(known, dx, dy, (context) => {
      blend.paintGround(context, view, known.smooth, blend.ratio);
      blend.paintUpper(context, view, known.smooth, blend.ratio);
    });
    known.originX += dx;
    known.originY += dy;
  }
  return { drawn: known.sheet, exact };
}

/** From one sheet to the other, because a canvas drawn onto itself is copied whole first. */
function pushSheet(
  known: Kept,
  dx: number,
  dy: number,
  paint: (context: CanvasRenderingContext2D) => void,
): void {
  const { sheet, spare } = known;
  const { width, height } = sheet.canvas;
  plain(spare.context);
  spare.context.drawImage(sheet.canvas, dx, dy);
  const strips: readonly (readonly [number, number, number, number])[] = [
    [dx > 0 ? 0 : width + dx, 0, Math.abs(dx), height],
    [0, dy > 0 ? 0 : height + dy, width, Math.abs(dy)],
  ];
  for (const [x, y, across, down] of strips)
    if (across > 0 && down > 0) {
      spare.context.save();
      spare.context.beginPath();
      spare.context.rect(x, y, across, down);
      spare.context.clip();
      paint(spare.context);
      spare.context.restore();
    }
  known.sheet = spare;
  known.spare = sheet;
}

function drawnAnew(canvas: HTMLCanvasElement, blend: Blend, pace: Pace): Put {
  if (pace === 'resting') return drawnWhole(canvas, blend, true);
  if (wholeMs > MOST_WHOLE_MS) return drawnCoarsely(canvas, blend);
  const begun = performance.now();
  const put = drawnWhole(canvas, blend, false);
  wholeMs += 0.4 * (performance.now() - begun - wholeMs);
  return put;
}

function drawnCoarsely(canvas: HTMLCanvasElement, blend: Blend): Put {
  const [width, height] = [canvas.width, canvas.height].map((px) => Math.ceil(px / COARSE));
  const known = coarse.get(canvas);
  const fits = known !== undefined && known.canvas.width === width && known.canvas.height === height;
  const sheet = fits ? known : newSheet(width, height);
  coarse.set(canvas, sheet);
  const own = { ...blend, ratio: blend.ratio / COARSE };
  putGround(canvas, sheet, own, false);
  own.paintUpper(sheet.context, own.view, false, own.ratio);
  return { drawn: sheet, exact: false };
}

function drawnWhole(canvas: HTMLCanvasElement, blend: Blend, smooth: boolean): Put {
  const known = kept.get(canvas) ?? null;
  const { width, height } = canvas;
  const fits = known !== null && known.sheet.canvas.width === width && known.sheet.canvas.height === height;
  const [sheet, spare] = fits
    ? [known.sheet, known.spare]
    : [newSheet(width, height), newSheet(width, height)];
  const [originX, originY] = originOf(blend);
  plain(sheet.context);
  putGround(canvas, sheet, blend, smooth);
  blend.paintUpper(sheet.context, blend.view, smooth, blend.ratio);
  kept.set(canvas, { key: blend.key, smooth, sheet, spare, originX, originY });
  return { drawn: sheet, exact: smooth };
}

/** Asked for the same ground a second time, it is kept: a view that moves never asks twice. */
function putGround(canvas: HTMLCanvasElement, to: Sheet, blend: Blend, smooth: boolean): void {
  const { at, zoom, turnDeg } = blend.view;
  const { width, height } = to.canvas;
  const key = [...blend.groundKey, at.x, at.y, zoom, turnDeg, blend.ratio, width, height, smooth];
  const known = grounds.get(canvas);
  if (known === undefined || !sameKey(known.key, key)) {
    grounds.set(canvas, { key, sheet: null });
    blend.paintGround(to.context, blend.view, smooth, blend.ratio);
    return;
  }
  if (known.sheet === null) {
    known.sheet = newSheet(width, height);
    blend.paintGround(known.sheet.context, blend.view, smooth, blend.ratio);
  }
  plain(to.context);
  to.context.drawImage(known.sheet.canvas, 0, 0);
}

/** One picture alone, as it was last drawn at rest, by its name: taking turns shows the same two again and again. */
const alone = new WeakMap<HTMLCanvasElement, Map<string, { key: readonly unknown[]; sheet: Sheet }>>();

/** Puts a picture at rest onto the stage's canvas; `paint` draws all of it where anything of the key has changed. */
export function putKept(
  stage: CanvasRenderingContext2D,
  name: string,
  key: readonly unknown[],
  paint: (context: CanvasRenderingContext2D) => void,
): void {
  const { canvas } = stage;
  const { width, height } = canvas;
  const sheets = alone.get(canvas) ?? new Map<string, { key: readonly unknown[]; sheet: Sheet }>();
  alone.set(canvas, sheets);
  const full = [...key, width, height];
  let known = sheets.get(name);
  if (known === undefined || !sameKey(known.key, full)) {
    const fits = known?.sheet.canvas.width === width && known.sheet.canvas.height === height;
    const sheet = known !== undefined && fits ? known.sheet : newSheet(width, height);
    paint(sheet.context);
    known = { key: full, sheet };
    sheets.set(name, known);
  }
  stage.save();
  plain(stage);
  stage.drawImage(known.sheet.canvas, 0, 0);
  stage.restore();
}

function plain(context: CanvasRenderingContext2D): void {
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.globalCompositeOperation = 'source-over';
}

function newSheet(width: number, height: number): Sheet {
  const canvas = Object.assign(document.createElement('canvas'), { width, height });
  // Opaque: moving it along is then a copy and no blending.
  const context = canvas.getContext('2d', { alpha: false });
  if (context === null) throw new Error('newSheet: the browser gives no 2D canvas');
  return { canvas, context };
}

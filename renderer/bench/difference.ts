import { bitmapMatrix, type Size, type StageView } from './geometry.ts';
import type { Layer } from './layers.ts';

/**
 * The difference of two pictures with its sign, drawn by nothing but the canvas's own blending: grey where both agree,
 * orange where the later one is brighter, blue where it is darker.
 */
type On = {
  readonly context: CanvasRenderingContext2D;
  readonly view: StageView;
  readonly size: Size;
  /** Pixels of the canvas for a CSS pixel. */
  readonly ratio: number;
};
type Pair = {
  readonly baseline: Layer | null;
  readonly later: Layer | null;
  readonly gain: number;
};

/** How far differences can be stretched; without any, green would be as strong as the other two and make orange yellow. */
export const GAINS = [2, 4, 8, 16] as const;
/** The difference that is shown in full colour, in levels of brightness of 255. */
export const fullColourLevels = (gain: number): number => Math.round(255 / gain);
/** Said beside the stage and below a saved picture. */
export const differenceWords = (gain: number): string =>
  `Grey where both agree; orange where the later picture is brighter, blue where it is darker, in full colour from ${fullColourLevels(gain)} of 255 levels of brightness on (difference stretched ${gain} ×). Black where only one of them lies.`;

/**
 * What the canvas is asked for after half of the later picture lies on the baseline's negative, which is middle grey where
 * both agree. Burning with t stretches about white and cuts off at black, dodging with d about black and cuts off at
 * white; with t = (1 + 1/g) / 2 and d = 1/t - 1 both together stretch by g about the middle. Green is not stretched, and
 * blue turned over at the end, so that brighter comes out orange and darker blue.
 */
export function stretchSteps(gain: number): readonly (readonly [GlobalCompositeOperation, string])[] {
  const burn = (1 + 1 / gain) / 2;
  return [
    ['color-burn', rgb(burn, 1, burn)],
    ['color-dodge', rgb(1 / burn - 1, 0, 1 / burn - 1)],
    ['difference', rgb(0, 0, 1)],
  ];
}

const rgb = (...shares: readonly number[]): string =>
  `rgb(${shares.map((share) => Math.round(255 * share)).join(' ')})`;

/** The baseline as its negative. */
export function turnOver(on: On, baseline: Layer | null): void {
  withinFrame(on, baseline, () => fill(on, 'difference', '#fff'));
}

/** `drawLater` draws the later picture with what the context is set to. */
export function drawDifference(on: On & Pair, drawLater: () => void): void {
  withinFrame(on, on.baseline, () => {
    on.context.globalAlpha = 0.5;
    drawLater();
    on.context.globalAlpha = 1;
    for (const [how, colour] of stretchSteps(on.gain)) fill(on, how, colour);
    blackBeyond(on, on.later);
  });
}

function fill({ context, size, ratio }: On, how: GlobalCompositeOperation, colour: string): void {
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.globalCompositeOperation = how;
  context.fillStyle = colour;
  context.fillRect(0, 0, size.width, size.height);
}

/** The picture's frame as a path. */
function traceFrame({ context, view, size, ratio }: On, { pose, widthPx, heightPx }: Layer): void {
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.transform(...bitmapMatrix(view, pose, 1, { x: size.width / 2, y: size.height / 2 }));
  context.rect(0, 0, widthPx, heightPx);
}

/** Beyond the frame of either picture there is nothing to compare, and the stage stays black. */
function withinFrame(on: On, layer: Layer | null, draw: () => void): void {
  if (layer === null) return;
  on.context.save();
  on.context.beginPath();
  traceFrame(on, layer);
  on.context.clip();
  draw();
  on.context.restore();
}

function blackBeyond(on: On, layer: Layer | null): void {
  const { context, size, ratio } = on;
  context.globalCompositeOperation = 'source-over';
  context.fillStyle = '#000';
  context.beginPath();
  if (layer !== null) traceFrame(on, layer);
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.rect(-1, -1, size.width + 2, size.height + 2);
  context.fill('evenodd');
}

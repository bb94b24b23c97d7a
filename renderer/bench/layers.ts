import { useEffect, useMemo, useState } from 'react';
import type { Pose } from '../../shared/geometry.ts';
import { loadPicture } from '../state/pictures.ts';
import { useModel } from '../state/use.ts';
import type { Tone } from './bench-state.ts';

/** A picture ready for the stage: grey, at several sizes, so that a frame never touches more pixels than it shows. */
export type Layer = {
  readonly id: string;
  readonly pose: Pose;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly levels: readonly Level[];
};
export type Level = { readonly canvas: HTMLCanvasElement; readonly reduction: number };

const LARGEST_EDGE = 4096;
const SMALLEST_EDGE = 400;

function canvasOf(width: number, height: number): [HTMLCanvasElement, CanvasRenderingContext2D] {
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(width));
  canvas.height = Math.max(1, Math.round(height));
  const context = canvas.getContext('2d');
  if (context === null) throw new Error('canvasOf: the browser gives no 2D canvas');
  return [canvas, context];
}

function buildLevels(bitmap: ImageBitmap, widthPx: number, tone: Tone): Level[] {
  const [first, context] = canvasOf(bitmap.width, bitmap.height);
  context.filter = `grayscale(1) brightness(${tone.brightness}) contrast(${tone.contrast})`;
  context.drawImage(bitmap, 0, 0);
  const levels: Level[] = [{ canvas: first, reduction: bitmap.width / widthPx }];
  for (let last = first; Math.max(last.width, last.height) > 2 * SMALLEST_EDGE;) {
    const [half, drawing] = canvasOf(last.width / 2, last.height / 2);
    drawing.imageSmoothingQuality = 'high';
    drawing.drawImage(last, 0, 0, half.width, half.height);
    levels.push({ canvas: half, reduction: half.width / widthPx });
    last = half;
  }
  return levels;
}

/** The same level in one tint; kept with its grey one, because panning must not repaint it. */
const tinted = new WeakMap<HTMLCanvasElement, Map<string, HTMLCanvasElement>>();
export function tintOf(level: Level, colour: string): HTMLCanvasElement {
  const known = tinted.get(level.canvas) ?? new Map<string, HTMLCanvasElement>();
  tinted.set(level.canvas, known);
  const found = known.get(colour);
  if (found) return found;
  const [canvas, context] = canvasOf(level.canvas.width, level.canvas.height);
  context.drawImage(level.canvas, 0, 0);
  context.globalCompositeOperation = 'multiply';
  context.fillStyle = colour;
  context.fillRect(0, 0, canvas.width, canvas.height);
  known.set(colour, canvas);
  return canvas;
}

/** The coarsest level that still has a pixel for every device pixel. */
export function levelFor(layer: Layer, devicePxPerPicturePx: number): Level {
  return layer.levels.findLast((level) => level.reduction >= devicePxPerPicturePx) ?? layer.levels[0];
}

export type LayerState = { readonly layer: Layer | null; readonly failed: boolean };

/** Null pose: nothing to show yet. */
export function useLayer(id: string | null, pose: Pose | null, fullWidthPx: number, tone: Tone): LayerState {
  const { host } = useModel();
  const [bitmap, setBitmap] = useState<{ id: string; bitmap: ImageBitmap | null } | null>(null);
  useEffect(() => {
    if (id === null) return undefined;
    let shown = true;
    loadPicture(host, id, LARGEST_EDGE)
      .then((picture) => createImageBitmap(picture.blob))
      .then(
        (made) => shown && setBitmap({ id, bitmap: made }),
        () => shown && setBitmap({ id, bitmap: null }),
      );
    return () => {
      shown = false;
    };
  }, [host, id]);
  const ready = bitmap?.id === id ? bitmap.bitmap : null;
  const levels = useMemo(
    () => (ready === null ? null : buildLevels(ready, fullWidthPx, tone)),
    [ready, fullWidthPx, tone],
  );
  const failed = bitmap?.id === id && bitmap.bitmap === null;
  if (id === null || pose === null || ready === null || levels === null) return { layer: null, failed };
  const heightPx = (ready.height * fullWidthPx) / ready.width;
  return { layer: { id, pose, widthPx: fullWidthPx, heightPx, levels }, failed };
}

import { answer, refuse, type Outcome } from '../../shared/index.ts';
import { coarser, estimateBackground, levelAt, type Background } from '../image/background.ts';
import { median } from '../fit/select.ts';
import { enlarged, shapeOfTip, type Located, type Rim } from '../tip/outline-shape.ts';
import { factorFor, reduceBy, type Plane } from './planes.ts';

/**
 * The part in a live frame, quickly: the same steps as core/tip/locate (what differs from the field, the piece that
 * enters through the frame's border, two flanks and a rounded tip at its far end), on a small copy and without opencv.
 */
export type Part = {
  readonly located: Located;
  /** Level of the empty field at a place of the full frame, grey 0..1. */
  readonly field: (x: number, y: number) => number;
};

/** Long edge of the copy; a tip of 18 um at 1 um/px keeps five pixels of radius in a frame of 2592. */
const EDGE_PX = 720;

/** Places are those of the full frame, pixels. Refuses with the reason where there is no tip to be read. */
export function partIn(plane: Plane): Outcome<Part> {
  const factor = factorFor(plane.width, plane.height, EDGE_PX);
  const small = reduceBy(plane, factor);
  const background = fieldOf(small);
  const { across, down } = background.surface;
  const surface = coarser(background.surface, across / factor, down / factor);
  const field = (x: number, y: number): number => levelAt(surface, x, y);
  const mask = maskOf(small, background);
  if (mask === null)
    return refuse(
      'tip-not-found',
      'Nothing stands out from the field. Put the tip into the picture, then focus and light it.',
    );
  const located = locateIn(mask, small.width, small.height);
  return located.ok ? answer({ located: enlarged(located.value, factor), field }) : located;
}

/** A smooth surface needs no more than this along the long edge; its cost goes with the pixels. */
const FIELD_EDGE_PX = 240;

function fieldOf(small: Plane): Background {
  const factor = factorFor(small.width, small.height, FIELD_EDGE_PX);
  const coarse = estimateBackground({ ...reduceBy(small, factor), clippedFraction: 0 });
  return {
    ...coarse,
    surface: coarser(coarse.surface, 1 / factor, 1 / factor),
    // The coarse pixels are means of many.
    noise: coarse.noise * factor,
  };
}

/** What differs from the field by a part of the part's own contrast; null when nothing does. */
function maskOf({ width, height, data }: Plane, background: Background): Uint8Array | null {
  const difference = new Float32Array(width * height);
  const strong: number[] = [];
  let brighter = 0;
  for (let y = 0, i = 0; y < height; y++)
    for (let x = 0; x < width; x++, i++) {
      const level = levelAt(background.surface, x, y);
      const d = Math.abs(data[i] - level);
      difference[i] = d;
      if (i % 17 === 0 && d > Math.max(0.05, 6 * background.noise)) {
        strong.push(d);
        if (data[i] > level) brighter++;
      }
    }
  const contrast = strong.length > 0 ? median(strong) : 0;
  if (contrast < Math.max(0.06, 5 * background.noise)) return null;
  // As in core/tip/locate: a part lit from the front has sides much darker than its middle.
  const threshold =
    brighter > strong.length / 2
      ? Math.max(0.12 * contrast, 2.5 * background.noise, 0.018)
      : Math.max(0.35 * contrast, 4 * background.noise, 0.03);
  const mask = new Uint8Array(width * height);
  for (let i = 0; i < mask.length; i++) if (difference[i] > threshold) mask[i] = 1;
  return closed(mask, width, height);
}

/** Gaps of up to two pixels closed: grown by one pixel, then shrunk by one. */
function closed(mask: Uint8Array, width: number, height: number): Uint8Array {
  const grown = new Uint8Array(mask.length);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      if (
        mask[i] ||
        (x > 0 && mask[i - 1]) ||
        (x + 1 < width && mask[i + 1]) ||
        (y > 0 && mask[i - width]) ||
        (y + 1 < height && mask[i + width])
      )
        grown[i] = 1;
    }
  const out = new Uint8Array(mask.length);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      if (
        grown[i] &&
        (x === 0 || grown[i - 1]) &&
        (x + 1 === width || grown[i + 1]) &&
        (y === 0 || grown[i - width]) &&
        (y + 1 === height || grown[i + width])
      )
        out[i] = 1;
    }
  return out;
}

/** Marks everything connected with `start` where `from` holds `value`; returns how many pixels that were. */
function flood(
  from: Uint8Array,
  value: number,
  label: number,
  labels: Int32Array,
  start: number,
  width: number,
  stack: Int32Array,
): number {
  let top = 0;
  stack[top++] = start;
  labels[start] = label;
  let count = 0;
  while (top > 0) {
    const i = stack[--top];
    count++;
    const x = i % width;
    // Each pixel is marked when it is pushed, so none is pushed twice and the stack never outgrows the plane.
    if (x > 0 && from[i - 1] === value && labels[i - 1] === 0) {
      labels[i - 1] = label;
      stack[top++] = i - 1;
    }
    if (x + 1 < width && from[i + 1] === value && labels[i + 1] === 0) {
      labels[i + 1] = label;
      stack[top++] = i + 1;
    }
    if (i >= width && from[i - width] === value && labels[i - width] === 0) {
      labels[i - width] = label;
      stack[top++] = i - width;
    }
    if (i + width < from.length && from[i + width] === value && labels[i + width] === 0) {
      labels[i + width] = label;
      stack[top++] = i + width;
    }
  }
  return count;
}

function locateIn(mask: Uint8Array, width: number, height: number): Outcome<Located> {
  const labels = new Int32Array(mask.length);
  const stack = new Int32Array(mask.length);
  const pieces: { label: number; area: number }[] = [];
  for (let i = 0, label = 0; i < mask.length; i++)
    if (mask[i] === 1 && labels[i] === 0) {
      label++;
      pieces.push({ label, area: flood(mask, 1, label, labels, i, width, stack) });
    }
  pieces.sort((a, b) => b.area - a.area);
  let why: Outcome<Located> = refuse(
    'tip-not-found',
    'No part with a tip was found. The shank should enter from one border and the tip lie inside the picture.',
  );
  for (const [index, { label, area }] of pieces.slice(0, 4).entries()) {
    if (area < 0.004 * mask.length) break;
    const rim = rimOf(labels, label, width, height, stack);
    if (rim.border.length < 8) continue;
    const found = shapeOfTip(rim, width, height);
    if (found.ok) return found;
    if (index === 0) why = found;
  }
  return why;
}

/** Outermost pixels of one piece, its holes filled; those at the frame's border are counted apart. */
function rimOf(labels: Int32Array, label: number, width: number, height: number, stack: Int32Array): Rim {
  const own = new Uint8Array(labels.length);
  for (let i = 0; i < own.length; i++) if (labels[i] === label) own[i] = 1;
  const outside = new Int32Array(labels.length);
  const seed = (i: number): void => {
    if (own[i] === 0 && outside[i] === 0) flood(own, 0, 1, outside, i, width, stack);
  };
  for (let x = 0; x < width; x++) {
    seed(x);
    seed((height - 1) * width + x);
  }
  for (let y = 0; y < height; y++) {
    seed(y * width);
    seed(y * width + width - 1);
  }
  const xs: number[] = [];
  const ys: number[] = [];
  let bx = 0;
  let by = 0;
  const border: { x: number; y: number }[] = [];
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      if (outside[i] === 1) continue;
      if (x < 2 || y < 2 || x >= width - 2 || y >= height - 2) {
        if (x > 0 && y > 0 && x < width - 1 && y < height - 1) continue;
        bx += x;
        by += y;
        border.push({ x, y });
      } else if (outside[i - 1] || outside[i + 1] || outside[i - width] || outside[i + width]) {
        xs.push(x);
        ys.push(y);
      }
    }
  return {
    x: Float64Array.from(xs),
    y: Float64Array.from(ys),
    borderX: bx / border.length,
    borderY: by / border.length,
    border,
  };
}

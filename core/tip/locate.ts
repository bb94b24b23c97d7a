import { outerContours, type Blob } from '../cv/index.ts';
import { blurPlane, reduceAndBlur } from '../cv/index.ts';
import type { Background } from '../image/background.ts';
import { coarser, levelAt } from '../image/background.ts';
import { median } from '../fit/select.ts';
import type { GreyImage } from '../image/grey.ts';
import { refuse, answer, type Outcome } from '../../shared/index.ts';
import { isCutByFrame } from './cut-by-frame.ts';
import { enlarged, shapeOfTip, type Located, type Rim } from './outline-shape.ts';

/** Against single pixels' noise, px. */
const SMOOTHING = 1.2;

/** A picture to search, smoothed. */
type Smooth = { readonly width: number; readonly height: number; readonly data: Float32Array };

/**
 * How far every pixel differs from the field, in place of the picture's values. The field's quadratic surface is straight enough between every eighth
 * pixel of a row.
 */
function differencesFrom(
  background: Background,
  { width, height, data: apart }: Smooth,
): { brighter: boolean; contrast: number } {
  const { surface } = background;
  const run = 8;
  for (let y = 0; y < height; y++) {
    let level = levelAt(surface, 0, y);
    for (let x = 0; x < width; x += run) {
      const next = levelAt(surface, x + run, y);
      const slope = (next - level) / run;
      const begin = y * width + x;
      const end = begin + Math.min(run, width - x);
      for (let i = begin; i < end; i++) apart[i] -= level + slope * (i - begin);
      level = next;
    }
  }
  const least = Math.max(0.05, 6 * background.noise);
  const strong: number[] = [];
  let brighter = 0;
  for (let i = 0; i < apart.length; i += 17)
    if (Math.abs(apart[i]) > least) {
      strong.push(Math.abs(apart[i]));
      if (apart[i] > 0) brighter++;
    }
  return { brighter: brighter > strong.length / 2, contrast: strong.length ? median(strong) : 0 };
}

/** 0/255 mask of what differs from the field, which the picture's values are replaced by; threshold relative to the part's own contrast. */
function partMask(smooth: Smooth, background: Background): { mask: Uint8Array; contrast: number } {
  const { brighter, contrast } = differencesFrom(background, smooth);
  const apart = smooth.data;
  // A part lit from the front has sides much darker than its middle; a silhouette is dark all over.
  const threshold = brighter
    ? Math.max(0.12 * contrast, 2.5 * background.noise, 0.018)
    : Math.max(0.35 * contrast, 4 * background.noise, 0.03);
  const mask = new Uint8Array(apart.length);
  for (let i = 0; i < mask.length; i++) if (apart[i] > threshold || apart[i] < -threshold) mask[i] = 255;
  return { mask, contrast };
}

function splitRim(blob: Blob, width: number, height: number): Rim {
  const xs: number[] = [];
  const ys: number[] = [];
  let bx = 0;
  let by = 0;
  const atBorder: { x: number; y: number }[] = [];
  const edge = 2;
  for (let i = 0; i < blob.x.length; i++) {
    const x = blob.x[i];
    const y = blob.y[i];
    if (x < edge || y < edge || x >= width - edge || y >= height - edge) {
      bx += x;
      by += y;
      atBorder.push({ x, y });
    } else {
      xs.push(x);
      ys.push(y);
    }
  }
  return {
    x: Float64Array.from(xs),
    y: Float64Array.from(ys),
    borderX: bx / atBorder.length,
    borderY: by / atBorder.length,
    border: atBorder,
  };
}

/**
 * Finds the part that enters through the frame's border and the tip at its far end: in a small copy of the picture first,
 * and again in a larger one where the small one shows too little of the tip, or none.
 */
export function locateTip(image: GreyImage, background: Background): Outcome<Located> {
  const long = Math.max(image.width, image.height);
  const small = searchReduced(image, background, long / QUICK_EDGE_PX);
  const whole = long / SEARCH_EDGE_PX;
  if (small.ok && small.value.radiusPx * (QUICK_EDGE_PX / long) >= LEAST_QUICK_RADIUS_PX) return small;
  return long <= QUICK_EDGE_PX ? small : searchReduced(image, background, whole);
}

/** A search needs no more pixels than this along the long edge; morphology grows with the fourth power of it. */
const SEARCH_EDGE_PX = 1400;
/** So many are enough where the tip is large in the picture. */
const QUICK_EDGE_PX = 640;
const LEAST_QUICK_RADIUS_PX = 4.5;

function searchReduced(image: GreyImage, background: Background, factor: number): Outcome<Located> {
  if (factor <= 1.2) {
    const data = blurPlane(image.data, image.width, image.height, SMOOTHING);
    return searchTip({ ...image, data }, background);
  }
  const width = Math.round(image.width / factor);
  const height = Math.round(image.height / factor);
  const data = reduceAndBlur(image.data, image.width, image.height, width, height, SMOOTHING);
  const fx = image.width / width;
  const fy = image.height / height;
  const surface = coarser(background.surface, fx, fy);
  const found = searchTip({ width, height, data }, { ...background, surface });
  return found.ok ? answer(enlarged(found.value, (fx + fy) / 2)) : found;
}

export const NOTHING_SEEN = refuse(
  'tip-not-found',
  'Nothing stands out from the field. Put the tip into the picture, sharpen and light it, and take it again.',
);

function searchTip(smooth: Smooth, background: Background): Outcome<Located> {
  const { width, height } = smooth;
  const { mask, contrast } = partMask(smooth, background);
  if (contrast < Math.max(0.06, 5 * background.noise)) return NOTHING_SEEN;
  const small = Math.min(width, height);
  // Fluff and fibres spoil the flanks of the plain mask; opening removes them but rounds the apex, so it is tried only
  // where the plain outline is crooked, and wins only where it is clearly straighter and more even.
  let best: Located | null = null;
  let first: Outcome<Located> | null = null;
  for (const openPx of [0, Math.round(small / 70), Math.round(small / 35)]) {
    const attempt = locateIn(mask, width, height, Math.max(3, Math.round(small / 100)), openPx);
    // fluff hides that the border cuts the part
    if (first === null || (!attempt.ok && attempt.reason.code === 'tip-outside-frame')) first = attempt;
    if (attempt.ok && (best === null || straightness(attempt.value) < 0.6 * straightness(best) - 0.2))
      best = attempt.value;
    if (best && straightness(best) < STRAIGHT) break;
  }
  if (best) return answer(withApex(best, mask, width, height));
  return first as Outcome<Located>;
}

/** Crookedness of a clean outline: half a pixel of residual, half a degree between the flanks. */
const STRAIGHT = 1;

/** Lower is better: flank residual in pixels plus the unevenness of the flanks. */
function straightness(l: Located): number {
  const uneven = Math.abs(l.halfLeft - l.halfRight) * (180 / Math.PI);
  return l.flankResidualPx + 0.5 * uneven + l.outlierShare * 6;
}

function locateIn(
  mask: Uint8Array,
  width: number,
  height: number,
  closePx: number,
  openPx: number,
): Outcome<Located> {
  const blobs = outerContours(mask, width, height, closePx, openPx, 4);
  let why = refuse(
    'tip-not-found',
    'No part with a tip was found. The shank should enter from one border and the tip lie inside the picture.',
  );
  for (const blob of blobs) {
    if (blob.areaPx < 0.004 * width * height) break;
    const rim = splitRim(blob, width, height);
    if (rim.border.length < 8) continue;
    const found = shapeOfTip(rim, width, height);
    if (found.ok) return found;
    if (blob === blobs[0])
      why = found.reason.code === 'tip-not-found' && isCutByFrame(blob, width, height) ? CUT : found;
  }
  return why;
}

const CUT = refuse(
  'tip-outside-frame',
  'The part runs out of the picture before its tip is seen. Move the tip towards the middle and take the picture again.',
);

/** Radius again from the unopened mask: the last part pixel along the axis through the flanks' vertex. */
function withApex(l: Located, mask: Uint8Array, width: number, height: number): Located {
  const ax = Math.sin(l.rotation);
  const ay = Math.cos(l.rotation);
  const half = (l.halfLeft + l.halfRight) / 2;
  const reach = l.radiusPx / Math.sin(half);
  let last = 0;
  for (let t = 0; t <= reach + 2; t += 0.5) {
    const x = Math.round(l.xPx + t * ax);
    const y = Math.round(l.yPx + t * ay);
    if (x < 0 || y < 0 || x >= width || y >= height) break;
    if (mask[y * width + x]) last = t;
    else if (t > last + 4) break;
  }
  const q = reach - last;
  const radius = q / (1 / Math.sin(half) - 1);
  if (!(radius > 1.5) || radius > 2 * l.radiusPx || radius < 0.4 * l.radiusPx) return l;
  const shift = (l.radiusPx - radius) / Math.sin(half);
  return {
    ...l,
    radiusPx: radius,
    xPx: l.xPx + shift * ax,
    yPx: l.yPx + shift * ay,
    flankPx: l.flankPx + shift,
  };
}

export type { Located };

import type { GreyImage } from '../image/grey.ts';
import { fitEdgeProfile } from './edge-profile.ts';
import type { RoughAxis } from './path.ts';

/** Measured points on both edges of the tube, picture pixels; `along` is the index on the rough axis. */
export type EdgePoints = {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** +1: to the right of the way from root to tip (down on screen when it points right), -1: to the left. */
  readonly side: Int8Array;
  readonly section: Int32Array;
  readonly standard: Float64Array;
  /** Blur of the edges, px (standard deviation). */
  readonly sigma: number;
  /** The tube is brighter than the field: lit from the front. */
  readonly lit: boolean;
  readonly sections: number;
  /** Of either edge of a tube lit from the front, once the light behind it was told apart; else none. */
  readonly rims: readonly Rim[];
};

/**
 * What is left open of where an edge lies, in stretches about the sections `middles`: standard deviation of the sum of its
 * distances from where it was put, px, each times its `gain`.
 */
export type Rim = {
  readonly side: 1 | -1;
  readonly middles: readonly number[];
  readonly spread: (gain: Float64Array) => number;
};

/** A line across the tube: where it stands, its unit normal (to the right of root to tip), expected half widths, px. */
export type Section = {
  readonly x: number;
  readonly y: number;
  readonly nx: number;
  readonly ny: number;
  readonly right: number;
  readonly left: number;
};

/** Sections one pixel apart over the even stretch of the rough axis. */
export function sectionsOfRough(axis: RoughAxis): Section[] {
  const { x, y, width, first, last } = axis;
  const out: Section[] = [];
  const reach = 12;
  let length = 0;
  let next = 0;
  for (let i = first; i < last; i++) {
    const step = Math.hypot(x[i + 1] - x[i], y[i + 1] - y[i]);
    const a = Math.max(first, i - reach);
    const b = Math.min(last, i + reach);
    const chord = Math.hypot(x[b] - x[a], y[b] - y[a]) || 1;
    for (; next < length + step; next++) {
      const t = (next - length) / step;
      const half = (width[i] + t * (width[i + 1] - width[i])) / 2;
      out.push({
        x: x[i] + t * (x[i + 1] - x[i]),
        y: y[i] + t * (y[i + 1] - y[i]),
        nx: -(y[b] - y[a]) / chord,
        ny: (x[b] - x[a]) / chord,
        right: half,
        left: half,
      });
    }
    length += step;
  }
  return out;
}

function sample(image: GreyImage, x: number, y: number): number {
  const { width, height, data } = image;
  const cx = Math.max(0, Math.min(width - 1.001, x));
  const cy = Math.max(0, Math.min(height - 1.001, y));
  const i = Math.floor(cx);
  const j = Math.floor(cy);
  const u = cx - i;
  const v = cy - j;
  const at = j * width + i;
  return (
    (1 - v) * ((1 - u) * data[at] + u * data[at + 1]) +
    v * ((1 - u) * data[at + width] + u * data[at + width + 1])
  );
}

const inFrame = (image: GreyImage, x: number, y: number): boolean =>
  x >= 0 && y >= 0 && x <= image.width - 1 && y <= image.height - 1;

/** Lines to either side whose mean is taken: noise of the picture must not choose which step is the edge. */
const ALONG = 3;

/**
 * Grey values from outside inwards over the edge of one side, at the depths `t` (px) behind what lies `half` px off the
 * section's middle; null where the line leaves the picture.
 */
export function profile(
  image: GreyImage,
  s: Section,
  side: 1 | -1,
  half: number,
  t: Float64Array,
): Float64Array | null {
  const grey = new Float64Array(t.length);
  for (let i = 0; i < t.length; i++) {
    const d = side * (half - t[i]);
    const x = s.x + d * s.nx;
    const y = s.y + d * s.ny;
    if (!inFrame(image, x, y)) return null;
    // The lines lie along the tube.
    let sum = 0;
    for (let k = -ALONG; k <= ALONG; k++) sum += sample(image, x - k * s.ny, y + k * s.nx);
    grey[i] = sum / (2 * ALONG + 1);
  }
  return grey;
}

function profileAbout(
  image: GreyImage,
  s: Section,
  side: 1 | -1,
  sigma: number,
): { t: Float64Array; grey: Float64Array } | null {
  const outward = 3.5 * sigma + 4;
  const inward = Math.min(3 * sigma + 3, Math.max(2, 0.375 * (s.right + s.left)));
  const step = 0.5;
  const t = Float64Array.from(
    { length: Math.floor((outward + inward) / step) + 1 },
    (_, i) => -outward + i * step,
  );
  const grey = profile(image, s, side, side === 1 ? s.right : s.left, t);
  return grey && { t, grey };
}

/**
 * A start for the fit: coming from outside, the first place where the grey values change at least a fifth as fast as
 * anywhere on the line, and clearly faster than in the field outside. The steepest place itself may be a highlight on
 * the tube. Differences are taken over about one blur, so that noise does not count as a change.
 */
function firstSteep(t: Float64Array, grey: Float64Array, sigma: number): number {
  const k = Math.max(3, Math.min(Math.floor(t.length / 4), Math.round(2 * sigma)));
  const slope = new Float64Array(t.length);
  for (let i = k; i < t.length - k; i++)
    for (let j = 1; j <= k; j++) slope[i] += (grey[i + j] - grey[i - j]) / k;
  const size = slope.map(Math.abs);
  const most = size.reduce((a, b) => Math.max(a, b), 0);
  const outer = size.subarray(k, k + Math.max(3, Math.floor(t.length / 6)));
  const noise = Math.sqrt(outer.reduce((sum, v) => sum + v * v, 0) / outer.length);
  const enough = Math.max(0.2 * most, Math.min(0.6 * most, 4 * noise));
  let i = size.findIndex((v) => v > enough);
  while (i < size.length - 1 && size[i + 1] > size[i]) i++;
  return t[Math.max(0, i)];
}

const median = (values: number[]): number => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)];

/**
 * Blur of the edges from some sixty free fits, with a line long enough for it: tried for an ordinary and for a soft
 * picture. null when hardly any edge can be fitted.
 */
export function measureBlur(image: GreyImage, sections: readonly Section[]): number | null {
  return blurWith(image, sections, 4) ?? blurWith(image, sections, 9);
}

function blurWith(image: GreyImage, sections: readonly Section[], assumed: number): number | null {
  const found: number[] = [];
  const stride = Math.max(1, Math.floor(sections.length / 30));
  let tried = 0;
  for (let i = 0; i < sections.length; i += stride)
    for (const side of [1, -1] as const) {
      tried++;
      const line = profileAbout(image, sections[i], side, assumed);
      const fit =
        line &&
        fitEdgeProfile(line.t, line.grey, firstSteep(line.t, line.grey, assumed / 2), assumed / 2, true);
      if (fit && fit.sigma < 1.2 * assumed && Math.abs(fit.inside - fit.outside) > 6 * fit.residual)
        found.push(fit.sigma);
    }
  return found.length >= Math.max(10, tried / 3) ? median(found) : null;
}

/** Fits the part of the line about the start only: what lies deeper inside is the tube's own light and shade. */
function fitNear(t: Float64Array, grey: Float64Array, start: number, sigma: number) {
  const from = t.findIndex((v) => v >= start - 3 * sigma - 3);
  const after = t.findIndex((v) => v > start + 2.2 * sigma + 2);
  const to = after < 0 ? t.length : after;
  if (to - from < 10) return null;
  return fitEdgeProfile(t.subarray(from, to), grey.subarray(from, to), start, sigma, false);
}

/** Both edges at every section; null when there are hardly any. */
export function measureEdges(
  image: GreyImage,
  sections: readonly Section[],
  sigma: number,
): EdgePoints | null {
  const points: { x: number; y: number; side: 1 | -1; section: number; standard: number; step: number }[] =
    [];
  sections.forEach((s, section) => {
    for (const side of [1, -1] as const) {
      const line = profileAbout(image, s, side, sigma);
      if (line === null) continue;
      const fit = fitNear(line.t, line.grey, firstSteep(line.t, line.grey, sigma), sigma);
      if (fit === null || !(Math.abs(fit.inside - fit.outside) > 4 * fit.residual)) continue;
      const d = side * ((side === 1 ? s.right : s.left) - fit.edge);
      points.push({
        x: s.x + d * s.nx,
        y: s.y + d * s.ny,
        side,
        section,
        standard: fit.standard,
        step: fit.inside - fit.outside,
      });
    }
  });
  if (points.length < 60) return null;
  return {
    x: Float64Array.from(points, (p) => p.x),
    y: Float64Array.from(points, (p) => p.y),
    side: Int8Array.from(points, (p) => p.side),
    section: Int32Array.from(points, (p) => p.section),
    standard: Float64Array.from(points, (p) => p.standard),
    sigma,
    lit: median(points.map((p) => p.step)) > 0,
    sections: sections.length,
    rims: [],
  };
}

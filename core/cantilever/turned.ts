import { leastSquares } from '../fit/linear-algebra.ts';
import type { GreyImage } from '../image/grey.ts';
import { normalCdf } from '../uncertainty/distributions.ts';

/**
 * Grey values across the diamond's shank, averaged along it, `u` in px from one of its edges to the other.
 */
export type ShankProfile = { readonly u: Float64Array; readonly grey: Float64Array; readonly width: number };

/**
 * A square shank that stands square to the view shows one face, evenly or smoothly lit; turned about its own axis it shows
 * two, each with its own light, which meet in an edge along it. A round shank shades smoothly. So: does a step inside the
 * width explain the profile, where a smooth course and a bright line do not?
 */
export type FaceEdge = {
  /** Distance of the edge between the faces from the nearer rim, over the width, 0..0.5. */
  readonly place: number;
  /** Difference of the faces over the shank's mean light, or over its contrast with the field where that is less. */
  readonly step: number;
  /** Which face is the brighter one: 1 towards growing u. */
  readonly brighter: 1 | -1;
  /** Turn about its own axis, degrees, 0 to 45: faces show at cos and sin of it. */
  readonly turnDeg: number;
};

/** Inner part of the width that is looked at: the rims are blurred into the field. */
const INNER = 0.1;
const RIM_BLURS = 1.7;
const LEAST_STEP = 0.2;
/** A larger step is a rim of the shank, or a dark line in a bright one. */
const MOST_STEP = 1.2;
/** Sum of squares that a step may leave, over what a smooth course leaves; and what a line (bright or dark) must leave over it. */
const EXPLAINED = 0.4;
const LINE = 0.7;
const LEAST_TURN_DEG = 12;
/** A face narrower than this, over the width, lies among the blurred rims. */
const LEAST_PLACE = 0.12;
/**
 * Uneven light that no smooth course explains, root-mean-square over the contrast: rendered sound diamonds in which a step
 * explained as much in every part showed up to 0.029, ones turned by 20 degrees and more 0.035 to 0.25.
 */
const LEAST_UNEVEN = 0.033;
/**
 * One face is brighter than the other by about as much in every part of the height: clouds in a stone are not. Of four
 * parts the first may be glue and the last reach into the point.
 */
const SAME_STEP = 1.5;
const SPARED_FROM = 4;

function alike(steps: readonly number[]): boolean {
  const size = steps.map(Math.abs);
  const [least, most] = [Math.min(...size), Math.max(...size)];
  const oneWay = steps.every((step) => step * steps[0] > 0);
  return oneWay && least > LEAST_STEP && most < MOST_STEP && most < SAME_STEP * least;
}

type Part = { readonly t: number[]; readonly grey: number[] };

/**
 * Looks for one edge in the same place in all parts of the shank's height (`parts`); null when nothing steps there.
 * `field`: grey beside it; `sigma`: blur, px. Each part may have a smooth course of its own across the width.
 */
export function faceEdge(parts: readonly ShankProfile[], field: number, sigma: number): FaceEdge | null {
  const width = parts[0]?.width ?? 0;
  const margin = Math.max(INNER, (RIM_BLURS * sigma) / width);
  const inner = parts.map(({ u, grey }): Part => {
    const t: number[] = [];
    const values: number[] = [];
    for (let i = 0; i < u.length; i++) {
      const place = (2 * u[i]) / width - 1;
      if (Math.abs(place) > 1 - 2 * margin || grey[i] !== grey[i]) continue;
      t.push(place);
      values.push(grey[i]);
    }
    return { t, grey: values };
  });
  if (inner.length === 0 || inner.some(({ t }) => t.length < 12)) return null;
  const mean = inner.flatMap((part) => part.grey).reduce((sum, v, _, all) => sum + v / all.length, 0);
  // Against the field or against black, whichever is less: from behind a clear shank is dark, and so are its faces.
  const contrast = Math.max(0.06, Math.min(Math.abs(mean - field), mean));
  const rest = (column: ((v: number) => number) | null): { sum: number; heights: number[] } | null => {
    let sum = 0;
    const heights: number[] = [];
    for (const { t, grey } of inner) {
      const rows = t.map((v) => [1, v, v ** 2, v ** 3, ...(column === null ? [] : [column(v)])]);
      const solved = leastSquares(rows.flat(), grey, rows.length, rows[0].length);
      if (solved === null) return null;
      sum += solved.sumOfSquares;
      heights.push(solved.solution[rows[0].length - 1]);
    }
    return { sum, heights };
  };
  const smooth = rest(null)?.sum ?? 0;
  const soft = (2 * Math.max(sigma, 0.8)) / width;
  const reach = 1 - 2 * Math.max(margin, LEAST_PLACE);
  let line = Infinity;
  let best: { sum: number; at: number; heights: number[] } | null = null;
  // The mask's rims are coarse and the shank's height is averaged: an edge is softer than the picture's blur.
  for (const wide of [soft, 1.6 * soft, 2.4 * soft])
    for (let at = -reach; at <= reach; at += 0.03) {
      // A wide bell beside the rim is a narrow face.
      if (wide < 2 * soft)
        line = Math.min(line, rest((v) => Math.exp(-0.5 * ((v - at) / (1.3 * wide)) ** 2))?.sum ?? Infinity);
      const one = rest((v) => normalCdf((v - at) / wide));
      if (one !== null && (best === null || one.sum < best.sum)) best = { ...one, at };
    }
  if (best === null) return null;
  const steps = best.heights.map((h) => h / contrast);
  const place = (1 - Math.abs(best.at)) / 2;
  const n = inner.reduce((sum, part) => sum + part.t.length, 0);
  const turnDeg = (Math.atan2(place, 1 - place) * 180) / Math.PI;
  if (Math.sqrt(smooth / n) < LEAST_UNEVEN * contrast) return null;
  if (best.sum > EXPLAINED * smooth || line < LINE * best.sum) return null;
  const parted = steps.length < SPARED_FROM ? [steps] : [steps, steps.slice(1), steps.slice(0, -1)];
  const same = parted.find(alike);
  if (same === undefined) return null;
  if (turnDeg < LEAST_TURN_DEG) return null;
  return {
    place,
    step: same.reduce((sum, v) => sum + Math.abs(v) / same.length, 0),
    brighter: same[0] > 0 ? 1 : -1,
    turnDeg,
  };
}

/** Bilinear grey value; NaN outside. */
export function greyAt({ width, height, data }: GreyImage, x: number, y: number): number {
  if (!(x >= 0 && y >= 0 && x <= width - 1 && y <= height - 1)) return Number.NaN;
  const i = Math.min(width - 2, Math.floor(x));
  const j = Math.min(height - 2, Math.floor(y));
  const [a, b] = [x - i, y - j];
  const at = j * width + i;
  return (
    (1 - b) * ((1 - a) * data[at] + a * data[at + 1]) +
    b * ((1 - a) * data[at + width] + a * data[at + width + 1])
  );
}

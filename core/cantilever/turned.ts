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
const LEAST_STEP = 0.25;
/** Sum of squares that a step may leave, over what a smooth course leaves; a bright line must not do far better. */
const EXPLAINED = 0.25;
const LINE = 0.3;
const LEAST_TURN_DEG = 12;
/**
 * Uneven light that no smooth course explains, root-mean-square over the contrast: rendered sound diamonds showed 0.002 to
 * 0.018, ones turned by 20 degrees and more 0.020 to 0.11.
 */
const LEAST_UNEVEN = 0.028;

/**
 * null when nothing inside the shank steps. `field`: grey beside it; `sigma`: blur, px. Looked at is the uneven half of
 * the profile, g(t) - g(-t) about its middle: rims, a bright middle and whatever else both sides share drop out of it.
 */
export function faceEdge({ u, grey, width }: ShankProfile, field: number, sigma: number): FaceEdge | null {
  const margin = Math.max(INNER, (1.2 * sigma) / width);
  const n = u.length;
  const t: number[] = [];
  const odd: number[] = [];
  let level = 0;
  for (let i = Math.ceil(n / 2); i < n; i++) {
    const [a, b] = [grey[i], grey[n - 1 - i]];
    if (a !== a || b !== b || u[i] > width * (1 - margin)) continue;
    t.push((2 * u[i]) / width - 1);
    odd.push((a - b) / 2);
    level += (a + b) / 2;
  }
  if (t.length < 6) return null;
  // Against the field or against black, whichever is less: from behind a clear shank is dark, and so are its faces.
  const mean = level / t.length;
  const contrast = Math.max(0.06, Math.min(Math.abs(mean - field), mean));
  const rest = (column: ((v: number) => number) | null): { sum: number; last: number } | null => {
    const rows = t.map((v) => [v, v ** 3, ...(column === null ? [] : [column(v)])]);
    const solved = leastSquares(rows.flat(), Float64Array.from(odd), rows.length, rows[0].length);
    return solved && { sum: solved.sumOfSquares, last: solved.solution[rows[0].length - 1] };
  };
  const soft = (2 * Math.max(sigma, 0.8)) / width;
  const smooth = rest(null)?.sum ?? 0;
  let line = Infinity;
  let best: { sum: number; place: number; step: number; brighter: 1 | -1 } | null = null;
  // The mask's rims are coarse and the shank's height is averaged: an edge is softer than the picture's blur.
  for (const wide of [soft, 1.6 * soft, 2.4 * soft])
    for (let at = 0; at < 1 - 2 * margin; at += 0.03) {
      const bell = (v: number): number => Math.exp(-0.5 * ((v - at) / (1.3 * wide)) ** 2);
      line = Math.min(line, rest((v) => bell(v) - bell(-v))?.sum ?? Infinity);
      // A step at one place shows at half its height at both, t and -t.
      const two = rest((v) => (normalCdf((v - at) / wide) + normalCdf((v + at) / wide) - 1) / 2);
      if (two !== null && (best === null || two.sum < best.sum))
        best = {
          sum: two.sum,
          place: (1 - at) / 2,
          step: Math.abs(two.last) / contrast,
          brighter: two.last > 0 ? 1 : -1,
        };
    }
  if (Math.sqrt(smooth / t.length) < LEAST_UNEVEN * contrast) return null;
  if (best === null || best.step < LEAST_STEP || best.sum > EXPLAINED * smooth || line < LINE * best.sum)
    return null;
  const turnDeg = (Math.atan2(best.place, 1 - best.place) * 180) / Math.PI;
  return turnDeg < LEAST_TURN_DEG ? null : { ...best, turnDeg };
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

import { leastSquares } from '../fit/linear-algebra.ts';
import { normalCdf } from '../uncertainty/distributions.ts';

/** The integral comes from a table (step 1/64, linear in between: within 8e-6): thousands of edges are fitted. */
const TABLE_STEP = 1 / 64;
const TABLE_REACH = 6;
const TABLE = Float64Array.from({ length: (2 * TABLE_REACH) / TABLE_STEP + 2 }, (_, i) =>
  normalCdf(i * TABLE_STEP - TABLE_REACH),
);

function cumulative(z: number): number {
  const at = (Math.max(-TABLE_REACH, Math.min(TABLE_REACH, z)) + TABLE_REACH) / TABLE_STEP;
  const i = Math.floor(at);
  return TABLE[i] + (at - i) * (TABLE[i + 1] - TABLE[i]);
}

/**
 * Grey values on a line across one edge, as a Gaussian-blurred step between an even outside and an inside that may
 * shade linearly with the depth: I(t) = outside + (inside - outside) P(z) + shade sigma (z P(z) + p(z)), z = (t - edge)/sigma,
 * t in pixels, growing inwards. Sharpening in the camera overshoots alike on both sides and moves nothing.
 */
export type EdgeFit = {
  /** Position on the line, px. */
  readonly edge: number;
  readonly sigma: number;
  readonly outside: number;
  readonly inside: number;
  /** Standard uncertainty of the position from the residuals, px. */
  readonly standard: number;
  readonly residual: number;
};

const ROUNDS = 14;

/**
 * Fits position and levels; with `freeSigma` the blur as well. `start` is a first position. null when the fit leaves
 * the line or finds no step.
 */
export function fitEdgeProfile(
  t: Float64Array,
  grey: Float64Array,
  start: number,
  sigma: number,
  freeSigma: boolean,
): EdgeFit | null {
  const n = t.length;
  const parameters = freeSigma ? 5 : 4;
  let edge = start;
  let s = sigma;
  let [outside, inside, shade] = firstLevels(t, grey, start, sigma);
  const design = new Float64Array(n * parameters);
  const rest = new Float64Array(n);
  let solved: ReturnType<typeof leastSquares> = null;
  for (let round = 0; round < ROUNDS; round++) {
    for (let i = 0; i < n; i++) {
      const z = (t[i] - edge) / s;
      const cdf = cumulative(z);
      const pdf = Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
      const ramp = s * (z * cdf + pdf);
      const step = inside - outside;
      rest[i] = grey[i] - (outside + step * cdf + shade * ramp);
      const at = i * parameters;
      design[at] = -((step * pdf) / s + shade * cdf);
      design[at + 1] = 1 - cdf;
      design[at + 2] = cdf;
      design[at + 3] = ramp;
      if (freeSigma) design[at + 4] = (-step * pdf * z) / s + shade * pdf;
    }
    solved = leastSquares(design, rest, n, parameters);
    if (solved === null) return null;
    const move = Math.max(-1, Math.min(1, solved.solution[0]));
    edge += move;
    outside += solved.solution[1];
    inside += solved.solution[2];
    shade += solved.solution[3];
    if (freeSigma) s = Math.max(0.3, s + Math.max(-0.3 * s, Math.min(0.3 * s, solved.solution[4])));
    if (!(edge > t[0] && edge < t[n - 1])) return null;
    if (Math.abs(move) < 1e-4) break;
  }
  if (solved === null || n <= parameters) return null;
  const residual = Math.sqrt(solved.sumOfSquares / (n - parameters));
  return {
    edge,
    sigma: s,
    outside,
    inside,
    standard: residual * Math.sqrt(solved.inverseNormal[0]),
    residual,
  };
}

function firstLevels(t: Float64Array, grey: Float64Array, start: number, sigma: number): number[] {
  let [out, outN, inn, innN] = [0, 0, 0, 0];
  for (let i = 0; i < t.length; i++) {
    if (t[i] < start - sigma) {
      out += grey[i];
      outN++;
    } else if (t[i] > start + sigma) {
      inn += grey[i];
      innN++;
    }
  }
  return [outN ? out / outN : grey[0], innN ? inn / innN : grey[grey.length - 1], 0];
}

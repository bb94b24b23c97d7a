import { cholesky } from '../fit/normal-equations.ts';
import { normalCdf } from '../uncertainty/distributions.ts';

/**
 * The evidence for place and blur of an edge when the light behind it may be any smooth course: its covariance, blurred
 * by the edge's own blur, makes that of a mean profile (`rim-light`).
 */

/** Blurs, over the one that plain steps tell. */
export const BLUR_STEP = 1.13;
export const BLURS = Float64Array.from({ length: 10 }, (_, i) => 0.42 * BLUR_STEP ** i);
/**
 * Light behind an edge, over its contrast: any even level; broad shading and narrow lamps with their lengths over the
 * half width; and what a camera's sharpening adds to a step, with its reach in px.
 */
const LEVEL = 2;
const BROAD = { size: 0.8, reach: 0.5 };
const NARROW = { size: 0.25, reach: 0.12 };
const SHARPENED = { size: 0.4, reach: 1.3 };
/** How far the plain step may be off, over the blur; and by how much more a stretch further on (standard deviations). */
const LIKELY_OFF = 1.5;
const LIKELY_CHANGE = [0, 0.05, 0.12];
/** Stretches overlap and share blocks of a file's compression: so many tell as much as one. */
const OVERLAP = 1.5;
/** Covariance (lower half, row by row) of a profile without noise whose edge lies at `edge` and is blurred by `blur`. */
export function covarianceOf(t: Float64Array, edge: number, blur: number, half: number): Float64Array {
  const n = t.length;
  const h = blur / 2;
  const nodes = Math.max(4, Math.ceil((t[n - 1] - edge + 3.5 * blur) / h));
  const spread = new Float64Array(n * nodes);
  const norm = h / (blur * Math.sqrt(2 * Math.PI));
  for (let i = 0; i < n; i++)
    for (let j = 0; j < nodes; j++)
      spread[i * nodes + j] = norm * Math.exp(-0.5 * ((t[i] - edge - (j + 0.5) * h) / blur) ** 2);
  // The process is stationary: its covariance depends on the distance alone.
  const kernel = Float64Array.from({ length: nodes }, (_, d) => {
    const [a, b] = [(d * h) / (BROAD.reach * half), (d * h) / (NARROW.reach * half)];
    return BROAD.size ** 2 * Math.exp(-0.5 * a * a) + NARROW.size ** 2 * Math.exp(-0.5 * b * b);
  });
  const through = new Float64Array(n * nodes);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < nodes; j++) {
      let sum = 0;
      for (let k = 0; k < nodes; k++) sum += spread[i * nodes + k] * kernel[Math.abs(k - j)];
      through[i * nodes + j] = sum;
    }
  const step = t.map((v) => normalCdf((v - edge) / blur));
  const wider = Math.hypot(blur, SHARPENED.reach);
  const over = t.map((v, i) => step[i] - normalCdf((v - edge) / wider));
  const a = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      // The field's own level is free.
      let sum = 0.25 + LEVEL ** 2 * step[i] * step[j] + SHARPENED.size ** 2 * over[i] * over[j];
      for (let k = 0; k < nodes; k++) sum += through[i * nodes + k] * spread[j * nodes + k];
      a[i * n + j] = sum;
    }
  return a;
}

/** Cholesky factor (lower, row by row) of such a covariance with noise. */
export function factorOf(covariance: Float64Array, n: number, noise: number): Float64Array {
  const a = covariance.slice();
  for (let i = 0; i < n; i++) a[i * n + i] += noise * noise;
  const factor = cholesky(a, n);
  if (factor === null) throw new RangeError('factorOf: noise must be above 0');
  return factor;
}

export function logEvidence(factor: Float64Array, grey: Float64Array): number {
  const n = grey.length;
  const white = new Float64Array(n);
  let sum = 0;
  for (let i = 0; i < n; i++) {
    let v = grey[i];
    for (let k = 0; k < i; k++) v -= factor[i * n + k] * white[k];
    white[i] = v / factor[i * n + i];
    sum -= 0.5 * white[i] ** 2 + Math.log(factor[i * n + i]);
  }
  return sum;
}

/** Logarithm of the sum over all places. */
function overPlaces(row: Float64Array): number {
  const most = row.reduce((a, b) => Math.max(a, b), -Infinity);
  return most + Math.log(row.reduce((sum, v) => sum + Math.exp(v - most), 0));
}

/** A stretch whose profile the model does not explain tells at most this much of one blur against another. */
const MOST_TOLD = 12;

/** Index among the blurs, in parts of a step, along the sections: the straight line that all stretches speak for. */
export function sharedBlur(
  stretches: readonly { readonly middle: number }[],
  evidence: readonly Float64Array[][],
  sections: number,
): (k: number) => number {
  const told = evidence.map((rows) => {
    const list = rows.map(overPlaces);
    const most = Math.max(...list);
    return list.map((v) => Math.max(-MOST_TOLD, v - most));
  });
  let best = { sum: -Infinity, root: 0, tip: 0 };
  const last = BLURS.length - 1;
  for (let root = 0; root <= last; root += 0.5)
    for (let tip = Math.max(0, root - 3.5); tip <= Math.min(last, root + 3.5); tip += 0.5) {
      // Even focus is likelier: by one unit where the blur grows by a half.
      let sum = -0.5 * ((tip - root) / 2.5) ** 2;
      stretches.forEach(({ middle }, i) => {
        const at = root + (tip - root) * (middle / sections);
        const k = Math.min(last - 1, Math.floor(at));
        sum += told[i][k] + (at - k) * (told[i][k + 1] - told[i][k]);
      });
      if (sum > best.sum) best = { sum, root, tip };
    }
  return (k) => best.root + (best.tip - best.root) * (k / sections);
}

/** Evidence for every place at a blur between two of the table. */
export function atBlur(rows: readonly Float64Array[], blur: number): Float64Array {
  const k = Math.min(rows.length - 2, Math.floor(blur));
  return rows[k].map((v, i) => v + (blur - k) * (rows[k + 1][i] - v));
}

/**
 * Where the edge lies in every stretch of one side, px inwards of the plain step. `spread`: standard deviation of the sum of
 * those places, each times its `gain`: what the stretches leave open is the same for neighbours, and often for a whole edge.
 */
export type Course = { readonly means: readonly number[]; readonly spread: (gain: Float64Array) => number };

/**
 * Place of the edge in every stretch: what the plain step is off by is the same all along or changes little from one
 * stretch to the next, so where one tells nothing its neighbours do (sums over all courses, forwards and backwards). How
 * much it changes is weighed by the evidence, too.
 */
export function placesAlong(evidence: readonly Float64Array[], places: Float64Array, sigma: number): Course {
  const likely = places.map((e) => Math.exp(-0.5 * (e / (LIKELY_OFF * sigma)) ** 2));
  const own = evidence.map((row) => {
    const most = row.reduce((a, b) => Math.max(a, b), -Infinity);
    return row.map((v) => Math.exp(Math.max(-MOST_TOLD, (v - most) / OVERLAP)));
  });
  const models = LIKELY_CHANGE.map((change) => courses(own, likely, places, change * sigma));
  const most = Math.max(...models.map(({ log }) => log));
  const weight = models.map(({ log }) => Math.exp(log - most));
  const all = weight.reduce((a, b) => a + b, 0);
  const mixed = (values: readonly number[]): number =>
    values.reduce((sum, value, m) => sum + (weight[m] / all) * value, 0);
  return {
    means: own.map((_, k) => mixed(models.map(({ means }) => means[k]))),
    spread: (gain) => {
      const sums = models.map(({ sumOf }) => sumOf(gain));
      const mean = mixed(sums.map((one) => one.mean));
      return Math.sqrt(Math.max(0, mixed(sums.map(({ square }) => square)) - mean * mean));
    },
  };
}

type Courses = {
  readonly means: readonly number[];
  /** Logarithm of how well all courses that change by so much explain the stretches. */
  readonly log: number;
  /** Mean and mean square of the sum of all places, each times its gain. */
  readonly sumOf: (gain: Float64Array) => { readonly mean: number; readonly square: number };
};

function courses(
  own: readonly Float64Array[],
  likely: Float64Array,
  places: Float64Array,
  change: number,
): Courses {
  const step = Float64Array.from(places, (e, i) =>
    change > 0 ? Math.exp(-0.5 * ((e - places[0]) / change) ** 2) : i === 0 ? 1 : 0,
  );
  const reach = step.reduce((sum, v, i) => sum + (i === 0 ? v : 2 * v), 0);
  /** What is told of every place, carried on to the next stretch. */
  const onwards = (told: Float64Array, scale: number): Float64Array =>
    told.map((_, i) => told.reduce((s, v, j) => s + v * step[Math.abs(i - j)], 0) / (scale * reach));
  const total = likely.reduce((a, b) => a + b, 0);
  const prior = likely.map((v) => v / total);
  const sweep = (rows: readonly Float64Array[]): { before: Float64Array[]; log: number } => {
    let log = 0;
    let carried: Float64Array = prior;
    const before = rows.map((row) => {
      const here = carried;
      const told = here.map((v, i) => v * row[i]);
      const sum = told.reduce((a, b) => a + b, 0);
      log += Math.log(sum);
      carried = onwards(told, sum);
      return here;
    });
    return { before, log };
  };
  const forward = sweep(own);
  const backward = sweep(own.toReversed()).before.toReversed();
  const means = own.map((row, k) => {
    let [sum, mean] = [0, 0];
    row.forEach((v, i) => {
      const p = (v * forward.before[k][i] * backward[k][i]) / likely[i];
      sum += p;
      mean += p * places[i];
    });
    return mean / sum;
  });
  // Moments of the sum so far go forwards with the places' own chances.
  const sumOf = (gain: Float64Array): { mean: number; square: number } => {
    let [chance, first, second]: Float64Array[] = [prior, places.map(() => 0), places.map(() => 0)];
    let last = { mean: 0, square: 0 };
    own.forEach((row, k) => {
      const told = [
        chance.map((v, i) => v * row[i]),
        first.map((v, i) => v * row[i]),
        second.map((v, i) => v * row[i]),
      ];
      const [p, m] = told;
      const grown = m.map((v, i) => v + gain[k] * places[i] * p[i]);
      const squares = told[2].map(
        (v, i) => v + 2 * gain[k] * places[i] * m[i] + (gain[k] * places[i]) ** 2 * p[i],
      );
      const sum = p.reduce((a, b) => a + b, 0);
      last = {
        mean: grown.reduce((a, b) => a + b, 0) / sum,
        square: squares.reduce((a, b) => a + b, 0) / sum,
      };
      [chance, first, second] = [p, grown, squares].map((list) => onwards(list, sum));
    });
    return last;
  };
  return { means, log: forward.log, sumOf };
}

import { leastSquares } from '../fit/linear-algebra.ts';
import type { GreyImage } from '../image/grey.ts';

/** Line centres found in strips across the lines. u runs across the lines, v along them, from the picture's middle, px. */
export type LineCentres = {
  readonly u: Float64Array;
  readonly v: Float64Array;
  readonly strip: Int32Array;
  readonly strips: number;
  /** Half width of the lines as imaged (standard deviation of the fitted bell), px. */
  readonly sigma: number;
};

/** Profile of one strip: grey values every `STEP` px of u, NaN outside the picture. */
type Profile = { readonly grey: Float64Array; readonly from: number; readonly v: number };

const STEP = 0.5;
const STRIPS = 16;

function sample(image: GreyImage, x: number, y: number): number {
  const { width, height, data } = image;
  if (!(x >= 0 && y >= 0 && x <= width - 1 && y <= height - 1)) return Number.NaN;
  const i = Math.min(width - 2, Math.floor(x));
  const j = Math.min(height - 2, Math.floor(y));
  const at = j * width + i;
  const [a, b] = [x - i, y - j];
  return (
    (1 - b) * ((1 - a) * data[at] + a * data[at + 1]) +
    b * ((1 - a) * data[at + width] + a * data[at + width + 1])
  );
}

function stripProfiles(image: GreyImage, angle: number): Profile[] {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const [cx, cy] = [(image.width - 1) / 2, (image.height - 1) / 2];
  const reachU = Math.abs(c) * cx + Math.abs(s) * cy;
  const reachV = Math.abs(s) * cx + Math.abs(c) * cy;
  const count = Math.floor((2 * reachU) / STEP) + 1;
  const tall = (2 * reachV) / STRIPS;
  const rows = Math.max(3, Math.floor(tall));
  const out: Profile[] = [];
  for (let k = 0; k < STRIPS; k++) {
    const v0 = -reachV + (k + 0.5) * tall;
    const grey = new Float64Array(count);
    for (let i = 0; i < count; i++) {
      const u = -reachU + i * STEP;
      let sum = 0;
      let n = 0;
      for (let r = 0; r < rows; r++) {
        const v = v0 + ((r + 0.5) / rows - 0.5) * tall;
        const value = sample(image, cx + c * u - s * v, cy + s * u + c * v);
        if (value === value) {
          sum += value;
          n++;
        }
      }
      // Only where the whole strip lies in the picture, or its middle would wander.
      grey[i] = n === rows ? sum / n : Number.NaN;
    }
    out.push({ grey, from: -reachU, v: v0 });
  }
  return out;
}

/** Light falls unevenly: divided by a wide running mean. */
function flatten(grey: Float64Array, reach: number): Float64Array {
  return grey.map((value, i) => {
    if (value !== value) return value;
    let sum = 0;
    let n = 0;
    for (let j = Math.max(0, i - reach); j <= Math.min(grey.length - 1, i + reach); j++)
      if (grey[j] === grey[j]) {
        sum += grey[j];
        n++;
      }
    return value / Math.max(1e-6, sum / n) - 1;
  });
}

/** How far about a place the glass between the lines is looked at for its light, profile steps. */
const GROUND_REACH = 160;

/**
 * The profile over the light of the glass alone: a straight piece through what lies between the lines about every place.
 * A running mean over lines and gaps would tilt wherever a line comes into it or is missing, and draw the lines with it.
 */
function overGround(grey: Float64Array, upright: Float64Array): Float64Array {
  const seen = upright.filter((v) => v === v).toSorted();
  if (seen.length < 20) return upright.map(() => Number.NaN);
  const [low, high] = [seen[Math.floor(0.1 * seen.length)], seen[Math.floor(0.97 * seen.length)]];
  const most = low + 0.3 * (high - low);
  const sums = new Float64Array(5 * (grey.length + 1));
  for (let i = 0; i < grey.length; i++) {
    const use = upright[i] <= most;
    [1, i, i * i, use ? grey[i] : 0, use ? i * grey[i] : 0].forEach((v, k) => {
      sums[5 * (i + 1) + k] = sums[5 * i + k] + (use ? v : 0);
    });
  }
  return grey.map((value, i) => {
    if (value !== value) return value;
    const a = Math.max(0, i - GROUND_REACH);
    const b = Math.min(grey.length, i + GROUND_REACH + 1);
    const [n, x, xx, y, xy] = [0, 1, 2, 3, 4].map((k) => sums[5 * b + k] - sums[5 * a + k]);
    if (n < 8) return Number.NaN;
    const spread = xx - (x * x) / n;
    const slope = spread > n ? (xy - (x * y) / n) / spread : 0;
    return value / Math.max(1e-6, y / n + slope * (i - x / n)) - 1;
  });
}

/** Lines are the minority: dark ones give a negative third moment. */
function lineSign(profiles: readonly Float64Array[]): 1 | -1 {
  let third = 0;
  for (const p of profiles) for (const v of p) if (v === v) third += v ** 3;
  return third < 0 ? -1 : 1;
}

/** Index and prominence of local maxima. */
function peaks(p: Float64Array): { at: number; prominence: number }[] {
  const out: { at: number; prominence: number }[] = [];
  for (let i = 1; i < p.length - 1; i++) {
    if (!(p[i] >= p[i - 1] && p[i] > p[i + 1])) continue;
    let left = p[i];
    for (let j = i - 1; j >= 0 && p[j] <= p[i]; j--) left = Math.min(left, p[j]);
    let right = p[i];
    for (let j = i + 1; j < p.length && p[j] <= p[i]; j++) right = Math.min(right, p[j]);
    out.push({ at: i, prominence: p[i] - Math.max(left, right) });
  }
  return out;
}

/** Symmetric bell with a sloping ground about `start`: its centre is unbiased for any symmetric line. null if it fails. */
function fitBell(
  p: Float64Array,
  start: number,
  sigma: number,
): { centre: number; sigma: number; height: number } | null {
  let centre = start;
  let s = sigma;
  let height = 0;
  for (let round = 0; round < 12; round++) {
    const half = Math.max(4, Math.ceil(2.2 * s));
    // Cut about the centre itself, between the steps: about the nearest step a wide flat line, which is no bell, would be
    // drawn towards it by up to a quarter of a pixel.
    const first = Math.floor(centre) - half;
    const part = centre - Math.floor(centre);
    const n = 2 * half + 1;
    if (first < 0 || first + n + 1 > p.length) return null;
    const design = new Float64Array(n * 5);
    const rest = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const t = i - half;
      const bell = Math.exp(-0.5 * (t / s) ** 2);
      design.set([bell, (height * bell * t) / (s * s), (height * bell * t * t) / s ** 3, 1, t], 5 * i);
      rest[i] = (1 - part) * p[first + i] + part * p[first + i + 1];
      if (rest[i] !== rest[i]) return null;
    }
    // Height, ground and slope are linear; centre and width are steps from the last round.
    const linear = leastSquares(
      Float64Array.from({ length: 3 * n }, (_, k) => design[5 * Math.floor(k / 3) + [0, 3, 4][k % 3]]),
      rest,
      n,
      3,
    );
    if (linear === null) return null;
    height = linear.solution[0];
    if (!(height > 0)) return null;
    for (let i = 0; i < n; i++) {
      const t = i - half;
      const bell = Math.exp(-0.5 * (t / s) ** 2);
      design[5 * i + 1] = (height * bell * t) / (s * s);
      design[5 * i + 2] = (height * bell * t * t) / s ** 3;
      rest[i] -= height * bell + linear.solution[1] + linear.solution[2] * t;
    }
    const step = leastSquares(design, rest, n, 5);
    if (step === null) return null;
    const move = Math.max(-1.5, Math.min(1.5, step.solution[1]));
    centre += move;
    s = Math.max(1, Math.min(3 * sigma, s + Math.max(-0.4 * s, Math.min(0.4 * s, step.solution[2]))));
    if (Math.abs(centre - start) > 3 * sigma + 2) return null;
    if (Math.abs(move) < 1e-4) break;
  }
  return { centre, sigma: s, height };
}

const median = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)];

/** All line centres by sub-pixel fits; null when hardly anything looks like a line. */
export function findLineCentres(image: GreyImage, angle: number): LineCentres | null {
  const profiles = stripProfiles(image, angle);
  const flat = profiles.map((p) =>
    flatten(p.grey, Math.round(Math.max(image.width, image.height) / (4 * STEP))),
  );
  const sign = lineSign(flat);
  const upright = flat.map((p, k) =>
    overGround(
      profiles[k].grey,
      p.map((v) => sign * v),
    ).map((v) => sign * v),
  );
  const candidates = upright.map((p) => peaks(p));
  const all = candidates
    .flat()
    .map((c) => c.prominence)
    .toSorted((a, b) => b - a);
  if (all.length < 12) return null;
  // Compare with the strong ones, not with the many of the noise; a few short lines give no more than a dozen.
  const strong = all[Math.min(all.length - 1, 12)];
  const noise = noiseOf(upright);
  const least = Math.max(0.35 * strong, 5 * noise);
  const chosen = candidates.map((list) => list.filter((c) => c.prominence > least));
  const firstSigma = halfWidth(upright, chosen);
  const found: { u: number; v: number; strip: number; sigma: number }[] = [];
  chosen.forEach((list, strip) => {
    for (const { at } of list) {
      const bell = fitBell(upright[strip], at, firstSigma);
      if (bell && bell.height > 0.5 * least)
        found.push({
          u: profiles[strip].from + bell.centre * STEP,
          v: profiles[strip].v,
          strip,
          sigma: bell.sigma,
        });
    }
  });
  if (found.length < 12) return null;
  return {
    u: Float64Array.from(found, (f) => f.u),
    v: Float64Array.from(found, (f) => f.v),
    strip: Int32Array.from(found, (f) => f.strip),
    strips: STRIPS,
    sigma: median(found.map((f) => f.sigma)) * STEP,
  };
}

function noiseOf(profiles: readonly Float64Array[]): number {
  const differences: number[] = [];
  for (const p of profiles)
    for (let i = 4; i < p.length; i += 4)
      if (p[i] === p[i] && p[i - 1] === p[i - 1]) differences.push(Math.abs(p[i] - p[i - 1]));
  return differences.length ? median(differences) : 0;
}

/** Median half width of the chosen peaks at half their prominence, as a standard deviation in profile steps. */
function halfWidth(
  profiles: readonly Float64Array[],
  chosen: { at: number; prominence: number }[][],
): number {
  const widths: number[] = [];
  chosen.forEach((list, strip) => {
    const p = profiles[strip];
    for (const { at, prominence } of list) {
      const level = p[at] - prominence / 2;
      let a = at;
      let b = at;
      while (a > 0 && p[a] > level) a--;
      while (b < p.length - 1 && p[b] > level) b++;
      widths.push((b - a) / 2.355);
    }
  });
  return widths.length ? Math.max(1.2, median(widths)) : 2;
}

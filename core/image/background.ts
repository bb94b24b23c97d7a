import type { GreyImage } from './grey.ts';
import { solveSymmetric } from '../fit/normal-equations.ts';
import { median } from '../fit/select.ts';

/** Illumination of the empty field: a quadratic surface in normalised coordinates, with its noise. */
export type Background = {
  readonly surface: Surface;
  /** Standard deviation of one pixel about the surface, in grey (0..1). */
  readonly noise: number;
  /** Part of the field's pixels at full scale. */
  readonly clipped: number;
  /** Part of the frame's rim that shows the field. */
  readonly rimShare: number;
};

/**
 * Terms of the surface over -1..1 across the frame that it was found in, and how many of that frame's pixels go to one of
 * the picture that is asked about. Numbers and no function of their own: every loop over pixels asks for levels, and is
 * compiled anew whenever it meets another function.
 */
export type Surface = {
  readonly terms: Float64Array;
  readonly width: number;
  readonly height: number;
  readonly across: number;
  readonly down: number;
};

/** Level of the field at a pixel. */
export function levelAt({ terms, width, height, across, down }: Surface, x: number, y: number): number {
  // pixel centres on whole numbers: centre x of a reduced picture lies at (x + 1/2) f - 1/2 of the whole one
  const u = (2 * (across === 1 ? x : (x + 0.5) * across - 0.5)) / width - 1;
  const v = (2 * (down === 1 ? y : (y + 0.5) * down - 0.5)) / height - 1;
  return valueOf(terms, u, v);
}

const valueOf = (c: Float64Array, u: number, v: number): number =>
  c[0] + c[1] * u + c[2] * v + c[3] * u * u + c[4] * u * v + c[5] * v * v;

/** The same surface for a picture of which one pixel covers `across` x `down` of the surface's. */
export const coarser = (surface: Surface, across: number, down: number): Surface => ({
  ...surface,
  across,
  down,
});

const TERMS = 6;

/** Places (-1..1 across the frame) and values, side by side. */
type Samples = { readonly u: Float64Array; readonly v: Float64Array; readonly value: Float64Array };

/** Block means along the rim, `block` pixels deep. */
function rimSamples(image: GreyImage, block: number): Samples {
  const { width, height, data } = image;
  const u: number[] = [];
  const v: number[] = [];
  const value: number[] = [];
  const add = (x0: number, y0: number): void => {
    let sum = 0;
    for (let y = y0; y < y0 + block; y++) for (let x = x0; x < x0 + block; x++) sum += data[y * width + x];
    u.push((2 * (x0 + block / 2)) / width - 1);
    v.push((2 * (y0 + block / 2)) / height - 1);
    value.push(sum / (block * block));
  };
  for (let x = 0; x + block <= width; x += block) for (const y of [0, height - block]) add(x, y);
  for (let y = block; y + 2 * block <= height; y += block) for (const x of [0, width - block]) add(x, y);
  return { u: Float64Array.from(u), v: Float64Array.from(v), value: Float64Array.from(value) };
}

/** Weighted least squares of the first `terms` terms; weights from the distance to the surface `c` in units of `scale`. */
function fitSurface(
  samples: Samples,
  c: Float64Array,
  scale: number,
  cut: number,
  terms: number,
): Float64Array {
  const a = new Float64Array(TERMS * TERMS);
  const g = new Float64Array(TERMS);
  const b = new Float64Array(TERMS);
  b[0] = 1;
  const { u, v, value } = samples;
  for (let i = 0; i < value.length; i++) {
    b[1] = u[i];
    b[2] = v[i];
    b[3] = u[i] * u[i];
    b[4] = u[i] * v[i];
    b[5] = v[i] * v[i];
    const surface = c[0] + c[1] * b[1] + c[2] * b[2] + c[3] * b[3] + c[4] * b[4] + c[5] * b[5];
    const r = (value[i] - surface) / scale;
    if (r > cut || r < -cut) continue;
    const w = 1 / ((1 + r * r) * (1 + r * r));
    for (let p = 0; p < terms; p++) {
      const wb = w * b[p];
      g[p] += wb * value[i];
      for (let q = 0; q <= p; q++) a[p * TERMS + q] += wb * b[q];
    }
  }
  for (let p = 0; p < TERMS; p++) a[p * TERMS + p] += p < terms ? 1e-6 : 1;
  return solveSymmetric(a, g, TERMS) ?? g;
}

/**
 * The field's surface from the frame's rim, where the part covers the smaller share: robust fit (Cauchy weights)
 * started at the level that most rim blocks agree on, planar first, then quadratic with all field pixels.
 */
export function estimateBackground(image: GreyImage): Background {
  const { width, height } = image;
  const block = Math.max(4, Math.round(Math.min(width, height) / 60));
  const rim = rimSamples(image, block);
  const level = commonLevel(Array.from(rim.value));
  let c: Float64Array = Float64Array.from([level, 0, 0, 0, 0, 0]);
  let width0 = 0.12;
  for (let round = 0; round < 12; round++) {
    c = fitSurface(rim, c, width0, Infinity, round < 6 ? 3 : TERMS);
    width0 = Math.max(0.02, width0 * 0.8);
  }
  // All field pixels on a coarse grid, those near the surface only.
  const grid = gridSamples(image, Math.max(2, Math.round(Math.min(width, height) / 80)));
  for (let round = 0; round < 4; round++) c = fitSurface(grid, c, 0.02, 4, TERMS);
  const surface = { terms: c, width, height, across: 1, down: 1 };
  return { surface, ...fieldNoise(image, surface, rim) };
}

/** Means of a pixel and its four neighbours, every `step` pixels. */
function gridSamples(image: GreyImage, step: number): Samples {
  const { width, height, data } = image;
  const across = Math.max(0, Math.ceil((width - 2) / step));
  const down = Math.max(0, Math.ceil((height - 2) / step));
  const n = across * down;
  const samples = { u: new Float64Array(n), v: new Float64Array(n), value: new Float64Array(n) };
  let k = 0;
  for (let y = 1; y + 1 < height; y += step)
    for (let x = 1; x + 1 < width; x += step) {
      const i = y * width + x;
      samples.u[k] = (2 * x) / width - 1;
      samples.v[k] = (2 * y) / height - 1;
      samples.value[k++] = (data[i] + data[i - 1] + data[i + 1] + data[i - width] + data[i + width]) / 5;
    }
  return samples;
}

/** The level about which most values lie: the densest window of width 0.1. */
function commonLevel(values: number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  let best = 0;
  let bestCount = -1;
  for (let i = 0, j = 0; i < sorted.length; i++) {
    while (sorted[i] - sorted[j] > 0.1) j++;
    if (i - j > bestCount) {
      bestCount = i - j;
      best = sorted[(i + j) >> 1];
    }
  }
  return best;
}

function fieldNoise(
  image: GreyImage,
  surface: Surface,
  rim: Samples,
): { noise: number; clipped: number; rimShare: number } {
  const { width, height, data } = image;
  // some twenty thousand pixels tell the noise to a per cent
  const step = Math.max(3, Math.round(Math.sqrt((width * height) / 2e4)));
  const differences: number[] = [];
  let field = 0;
  let clipped = 0;
  for (let y = 2; y + 2 < height; y += step)
    for (let x = 2; x + 2 < width; x += step) {
      const i = y * width + x;
      const level = levelAt(surface, x, y);
      if (Math.abs(data[i] - level) > 0.08) continue;
      field++;
      if (data[i] >= 0.995) clipped++;
      differences.push(Math.abs(data[i] - level));
    }
  const noise = differences.length ? 1.4826 * median(differences) : 0;
  const near = Math.max(0.03, 3 * noise);
  const { terms } = surface;
  const on = rim.value.filter((seen, i) => Math.abs(seen - valueOf(terms, rim.u[i], rim.v[i])) < near).length;
  return {
    noise: Math.max(noise, 1e-4),
    clipped: clipped / Math.max(1, field),
    rimShare: on / rim.value.length,
  };
}

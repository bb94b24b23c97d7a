import { valueAt, type Plane } from '../live/planes.ts';
import { shiftBetween } from '../live/shift.ts';

/**
 * Lays one focal plane over another. Turning the focus wheel shifts the picture a little and changes its size a little
 * (the distance changes), so shift and size are free; a part does not turn by focusing. Least squares on gradients
 * (Lucas and Kanade 1981, here with size), both planes blurred first so that their different sharpness does not pull.
 */
export type Placement = {
  /** Where the middle of the reference lies in the other plane, minus that plane's middle; pixels of the full frame. */
  readonly dx: number;
  readonly dy: number;
  /** Size in the other plane over size in the reference, minus 1. */
  readonly zoom: number;
};

export const IN_PLACE: Placement = { dx: 0, dy: 0, zoom: 0 };
const ITERATIONS = 12;
/** Blur before the comparison, pixels of the reduced planes: wider than the difference of two neighbouring planes. */
const BLUR_PX = 3;

/** Three box means after each other: close to a Gaussian of the given sigma, whatever its width costs the same. */
export function smooth(plane: Plane, sigma: number): Plane {
  const radius = Math.max(1, Math.round((Math.sqrt(4 * sigma * sigma + 1) - 1) / 2));
  let data: Float32Array = plane.data;
  for (let i = 0; i < 3; i++) data = boxed(data, plane.width, plane.height, radius);
  return { ...plane, data };
}

/** Mean over (2 radius + 1) squared pixels; at the borders over what there is. */
function boxed(data: Float32Array, width: number, height: number, radius: number): Float32Array {
  const rows = new Float32Array(data.length);
  for (let y = 0; y < height; y++) runMean(data, rows, y * width, 1, width, radius);
  const out = new Float32Array(data.length);
  for (let x = 0; x < width; x++) runMean(rows, out, x, width, height, radius);
  return out;
}

function runMean(
  from: Float32Array,
  to: Float32Array,
  start: number,
  step: number,
  count: number,
  radius: number,
): void {
  let sum = 0;
  let n = 0;
  for (let k = 0; k < Math.min(count, radius); k++) {
    sum += from[start + k * step];
    n++;
  }
  for (let k = 0; k < count; k++) {
    if (k + radius < count) {
      sum += from[start + (k + radius) * step];
      n++;
    }
    if (k - radius - 1 >= 0) {
      sum -= from[start + (k - radius - 1) * step];
      n--;
    }
    to[start + k * step] = sum / n;
  }
}

/** Solves the 5 x 5 normal equations by elimination; null when they are singular. */
function solve5(a: Float64Array, b: Float64Array): Float64Array | null {
  const n = 5;
  for (let k = 0; k < n; k++) {
    let pivot = k;
    for (let i = k + 1; i < n; i++) if (Math.abs(a[i * n + k]) > Math.abs(a[pivot * n + k])) pivot = i;
    if (!(Math.abs(a[pivot * n + k]) > 1e-14)) return null;
    if (pivot !== k) {
      for (let j = 0; j < n; j++) [a[k * n + j], a[pivot * n + j]] = [a[pivot * n + j], a[k * n + j]];
      [b[k], b[pivot]] = [b[pivot], b[k]];
    }
    for (let i = k + 1; i < n; i++) {
      const f = a[i * n + k] / a[k * n + k];
      for (let j = k; j < n; j++) a[i * n + j] -= f * a[k * n + j];
      b[i] -= f * b[k];
    }
  }
  const x = new Float64Array(n);
  for (let i = n - 1; i >= 0; i--) {
    let sum = b[i];
    for (let j = i + 1; j < n; j++) sum -= a[i * n + j] * x[j];
    x[i] = sum / a[i * n + i];
  }
  return x;
}

/** From a to b, then from b to c. */
export function compose(ab: Placement, bc: Placement): Placement {
  return {
    dx: (1 + bc.zoom) * ab.dx + bc.dx,
    dy: (1 + bc.zoom) * ab.dy + bc.dy,
    zoom: (1 + ab.zoom) * (1 + bc.zoom) - 1,
  };
}

export function inverse({ dx, dy, zoom }: Placement): Placement {
  return { dx: -dx / (1 + zoom), dy: -dy / (1 + zoom), zoom: 1 / (1 + zoom) - 1 };
}

/**
 * `still` and `moved` of equal size; `factor` is how much both were reduced. `weight` (0..1, places of the reduced
 * plane) says where the two may be compared at all.
 */
export function placementOf(
  still: Plane,
  moved: Plane,
  factor: number,
  weight: (x: number, y: number) => number = () => 1,
): Placement {
  const a = smooth(still, BLUR_PX);
  const b = smooth(moved, BLUR_PX);
  const { width, height } = a;
  const cx = (width - 1) / 2;
  const cy = (height - 1) / 2;
  const norm = Math.max(cx, cy);
  const border = Math.max(4, Math.round(width / 40));
  let dx = 0;
  let dy = 0;
  let zoom = 0;
  const weights = new Float32Array(width * height);
  for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) weights[y * width + x] = weight(x, y);
  for (let round = 0; round < ITERATIONS; round++) {
    const m = new Float64Array(25);
    const g = new Float64Array(5);
    const j = new Float64Array(5);
    for (let y = border; y < height - border; y += 1)
      for (let x = border; x < width - border; x += 1) {
        const i = y * width + x;
        const w = weights[i];
        if (!(w > 0.01)) continue;
        const gx = (a.data[i + 1] - a.data[i - 1]) / 2;
        const gy = (a.data[i + width] - a.data[i - width]) / 2;
        const u = x - cx;
        const v = y - cy;
        const seen = valueAt(b, cx + (1 + zoom) * u + dx, cy + (1 + zoom) * v + dy);
        const r = seen - a.data[i];
        // shift, size, and a light that may have changed by a factor and an offset
        j[0] = gx;
        j[1] = gy;
        j[2] = (gx * u + gy * v) / norm;
        j[3] = a.data[i];
        j[4] = 1;
        for (let p = 0; p < 5; p++) {
          g[p] += w * j[p] * r;
          for (let q = p; q < 5; q++) m[p * 5 + q] += w * j[p] * j[q];
        }
      }
    for (let p = 0; p < 5; p++) for (let q = 0; q < p; q++) m[p * 5 + q] = m[q * 5 + p];
    const step = solve5(m, g);
    if (step === null) break;
    dx -= step[0];
    dy -= step[1];
    zoom -= step[2] / norm;
    if (Math.hypot(step[0], step[1]) < 0.002 && Math.abs(step[2]) < 0.002) break;
  }
  return { dx: dx * factor, dy: dy * factor, zoom };
}

/**
 * What is left between two planes after they were laid over each other, root mean square over patches with something
 * to see, pixels of the full frame. `placed` is the moved plane resampled into the reference; both reduced by `factor`.
 */
export function leftBetween(still: Plane, placed: Plane, factor: number): number {
  const a = smooth(still, BLUR_PX);
  const b = smooth(placed, BLUR_PX);
  const patches = 4;
  const width = Math.floor(a.width / patches);
  const height = Math.floor(a.height / patches);
  const found: { weight: number; px: number }[] = [];
  for (let py = 0; py < patches; py++)
    for (let px = 0; px < patches; px++) {
      const one = patchOf(a, px * width, py * height, width, height);
      const other = patchOf(b, px * width, py * height, width, height);
      const weight = structure(one);
      if (!(weight > 1e-6)) continue;
      const { dx, dy } = shiftBetween(one, other);
      if (Math.hypot(dx, dy) > width / 4) continue;
      found.push({ weight, px: Math.hypot(dx, dy) });
    }
  const strongest = Math.max(0, ...found.map((one) => one.weight));
  const kept = found.filter((one) => one.weight > strongest / 10);
  const total = kept.reduce((sum, one) => sum + one.weight, 0);
  if (!(total > 0)) return 0;
  return factor * Math.sqrt(kept.reduce((sum, one) => sum + one.weight * one.px * one.px, 0) / total);
}

function patchOf(plane: Plane, x0: number, y0: number, width: number, height: number): Plane {
  const data = new Float32Array(width * height);
  for (let y = 0; y < height; y++) {
    const from = (y0 + y) * plane.width + x0;
    data.set(plane.data.subarray(from, from + width), y * width);
  }
  return { width, height, data };
}

/** The smaller eigenvalue of the gradients' covariance: an edge alone tells nothing about a shift along it. */
function structure({ width, height, data }: Plane): number {
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let y = 1; y < height - 1; y++)
    for (let x = 1; x < width - 1; x++) {
      const i = y * width + x;
      const gx = (data[i + 1] - data[i - 1]) / 2;
      const gy = (data[i + width] - data[i - width]) / 2;
      xx += gx * gx;
      xy += gx * gy;
      yy += gy * gy;
    }
  const n = Math.max(1, (width - 2) * (height - 2));
  return (xx + yy - Math.hypot(xx - yy, 2 * xy)) / (2 * n);
}

import { leastSquares } from '../fit/linear-algebra.ts';
import type { GreyImage } from '../image/grey.ts';

export type ImageShift = {
  /** Where the second picture's content lies against the first's, px: right and down positive. */
  readonly dx: number;
  readonly dy: number;
  readonly standard: number;
  /** Gain and offset of light that were taken out; residual in grey 0..1. */
  readonly gain: number;
  readonly residual: number;
};

const REACH_PX = 8;

/**
 * Sub-pixel shift between two pictures of the same size, up to some eight pixels: Gauss-Newton on the grey values, from
 * coarse to fine, with gain and offset free. For telling moved frames before averaging and glints that wander. null
 * when the pictures have no texture or do not agree.
 */
export function imageShift(a: GreyImage, b: GreyImage): ImageShift | null {
  if (a.width !== b.width || a.height !== b.height)
    throw new RangeError(`imageShift: ${a.width} x ${a.height} against ${b.width} x ${b.height}`);
  let shift = { dx: 0, dy: 0 };
  let last: ImageShift | null = null;
  for (const reach of [4, 2, 1]) {
    const [sa, sb] = [softened(a, reach), softened(b, reach)];
    for (let round = 0; round < 15; round++) {
      last = step(sa, sb, a.width, a.height, shift, reach);
      if (last === null) return null;
      const moved = Math.hypot(last.dx - shift.dx, last.dy - shift.dy);
      shift = { dx: last.dx, dy: last.dy };
      if (Math.hypot(shift.dx, shift.dy) > 2 * REACH_PX) return null;
      if (moved < 1e-4) break;
    }
  }
  return last;
}

/** Twice a running mean of 2 r + 1 pixels in both directions: a wide, smooth valley about the right shift. */
function softened(image: GreyImage, reach: number): Float64Array {
  let data: Float64Array = Float64Array.from(image.data);
  const { width, height } = image;
  for (let pass = 0; pass < 2; pass++) {
    data = box(data, width, height, reach, 1, width);
    data = box(data, height, width, reach, width, 1);
  }
  return data;
}

function box(
  data: Float64Array,
  length: number,
  lines: number,
  reach: number,
  along: number,
  across: number,
): Float64Array {
  const out = new Float64Array(data.length);
  for (let l = 0; l < lines; l++) {
    let sum = 0;
    const at = (i: number): number => data[l * across + Math.max(0, Math.min(length - 1, i)) * along];
    for (let i = -reach; i <= reach; i++) sum += at(i);
    for (let i = 0; i < length; i++) {
      out[l * across + i * along] = sum / (2 * reach + 1);
      sum += at(i + reach + 1) - at(i - reach);
    }
  }
  return out;
}

function step(
  a: Float64Array,
  b: Float64Array,
  width: number,
  height: number,
  shift: { dx: number; dy: number },
  reach: number,
): ImageShift | null {
  const margin = 2 * REACH_PX + 2;
  const stride = Math.max(1, Math.floor(Math.sqrt((width * height) / 60_000)));
  const rows: number[] = [];
  const rhs: number[] = [];
  for (let y = margin; y < height - margin; y += stride)
    for (let x = margin; x < width - margin; x += stride) {
      const [u, v] = [x + shift.dx, y + shift.dy];
      const value = sample(b, width, u, v);
      rows.push(
        (sample(b, width, u + 1, v) - sample(b, width, u - 1, v)) / 2,
        (sample(b, width, u, v + 1) - sample(b, width, u, v - 1)) / 2,
        a[y * width + x],
        1,
      );
      rhs.push(value);
    }
  const n = rhs.length;
  if (n < 50) return null;
  // b(x + d) = gain a(x) + offset; with d off by e, b(x + d) is larger by grad . e: the step is minus that.
  const solved = leastSquares(rows, rhs, n, 4);
  if (solved === null || !(solved.solution[2] > 0.1)) return null;
  const variance = solved.sumOfSquares / (n - 4);
  const most = Math.max(1, reach);
  const limit = (e: number): number => Math.max(-most, Math.min(most, e));
  return {
    dx: shift.dx - limit(solved.solution[0]),
    dy: shift.dy - limit(solved.solution[1]),
    standard: Math.sqrt(variance * Math.max(solved.inverseNormal[0], solved.inverseNormal[5])),
    gain: solved.solution[2],
    residual: Math.sqrt(variance),
  };
}

/** Bicubic (Catmull-Rom): bilinear sampling would blur one picture and not the other. */
function sample(data: Float64Array, width: number, x: number, y: number): number {
  const i = Math.floor(x);
  const j = Math.floor(y);
  const wx = cubic(x - i);
  const wy = cubic(y - j);
  let sum = 0;
  for (let r = 0; r < 4; r++) {
    const row = (j - 1 + r) * width + i - 1;
    sum +=
      wy[r] * (wx[0] * data[row] + wx[1] * data[row + 1] + wx[2] * data[row + 2] + wx[3] * data[row + 3]);
  }
  return sum;
}

function cubic(t: number): readonly [number, number, number, number] {
  const t2 = t * t;
  const t3 = t2 * t;
  return [(-t3 + 2 * t2 - t) / 2, (3 * t3 - 5 * t2 + 2) / 2, (-3 * t3 + 4 * t2 + t) / 2, (t3 - t2) / 2];
}

import { leastSquares } from '../fit/linear-algebra.ts';
import type { LineCentres } from './lines.ts';

/** Regular spacing of lines: u = origin + period index + tilt v. */
export type Spacing = {
  readonly period: number;
  /** u per v along a line: what is left of the tilt. */
  readonly tilt: number;
  readonly origin: number;
  /** Number of each centre's line; only where `used`. */
  readonly index: Int32Array;
  readonly used: Uint8Array;
  readonly residual: Float64Array;
  /** Robust standard deviation of a centre about the rule, px. */
  readonly spread: number;
};

/** Phase of the centres of every strip against a period: [cos, sin] sums. */
function phases(
  lines: LineCentres,
  period: number,
): { re: Float64Array; im: Float64Array; count: Float64Array } {
  const re = new Float64Array(lines.strips);
  const im = new Float64Array(lines.strips);
  const count = new Float64Array(lines.strips);
  for (let i = 0; i < lines.u.length; i++) {
    const a = (2 * Math.PI * lines.u[i]) / period;
    re[lines.strip[i]] += Math.cos(a);
    im[lines.strip[i]] += Math.sin(a);
    count[lines.strip[i]]++;
  }
  return { re, im, count };
}

/** 1 when all centres of each strip lie on one comb of this period. Strips with fewer than three centres do not vote. */
function regularity(lines: LineCentres, period: number): number {
  const { re, im, count } = phases(lines, period);
  let sum = 0;
  let n = 0;
  for (let k = 0; k < lines.strips; k++) {
    if (count[k] < 3) continue;
    sum += Math.hypot(re[k], im[k]);
    n += count[k];
  }
  return n > 0 ? sum / n : 0;
}

/**
 * Smallest spacing that the centres keep to. A comb of half the spacing fits as well, one of twice the spacing does
 * not: so the largest period among the good ones. Missing lines do not matter. null when nothing is regular.
 */
export function findPeriod(lines: LineCentres): number | null {
  const length =
    lines.u.reduce((a, b) => Math.max(a, b), -Infinity) - lines.u.reduce((a, b) => Math.min(a, b), Infinity);
  const tried: { period: number; score: number }[] = [];
  for (let period = length / 2; period > 3; period -= (period * period) / (10 * length))
    tried.push({ period, score: regularity(lines, period) });
  const best = tried.reduce((most, t) => Math.max(most, t.score), 0);
  if (best < 0.6) return null;
  const first = tried.findIndex((t) => t.score > 0.85 * best);
  let at = first;
  while (at + 1 < tried.length && tried[at + 1].score > tried[at].score) at++;
  return tried[at].period;
}

/** Numbers the lines and fits the rule, robustly. null when too few centres take part. */
export function fitSpacing(lines: LineCentres, start: number): Spacing | null {
  const n = lines.u.length;
  const offset = stripOffsets(lines, start);
  const index = Int32Array.from(lines.u, (u, i) => Math.round((u - offset[lines.strip[i]]) / start));
  let weight: Float64Array = Float64Array.from(lines.u, (_, i) =>
    Number.isNaN(offset[lines.strip[i]]) ? 0 : 1,
  );
  let p: Float64Array = new Float64Array(3);
  const residual: Float64Array = new Float64Array(n);
  let spread = 1;
  for (let round = 0; round < 10; round++) {
    const rows = new Float64Array(3 * n);
    const rhs = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const w = Math.sqrt(weight[i]);
      rows.set([w, w * index[i], w * lines.v[i]], 3 * i);
      rhs[i] = w * lines.u[i];
    }
    const solved = leastSquares(rows, rhs, n, 3);
    if (solved === null) return null;
    p = solved.solution;
    for (let i = 0; i < n; i++) {
      // The comb itself may have been numbered with a period slightly off: number again from the fit.
      index[i] = Math.round((lines.u[i] - p[0] - p[2] * lines.v[i]) / p[1]);
      residual[i] = lines.u[i] - p[0] - p[1] * index[i] - p[2] * lines.v[i];
    }
    const sizes = residual.map(Math.abs).toSorted();
    spread = Math.max(0.005, 1.4826 * sizes[Math.floor(n / 2)]);
    weight = residual.map((r) => (Math.abs(r) < 5 * spread ? (1 - (r / (5 * spread)) ** 2) ** 2 : 0));
  }
  const used = Uint8Array.from(weight, (w) => (w > 0.05 ? 1 : 0));
  if (used.reduce((a, b) => a + b, 0) < 12) return null;
  return { period: p[1], tilt: p[2], origin: p[0], index, used, residual, spread };
}

/** Place of the comb in every strip, followed from strip to strip so that line numbers agree; NaN where there is none. */
function stripOffsets(lines: LineCentres, period: number): Float64Array {
  const { re, im, count } = phases(lines, period);
  const out = new Float64Array(lines.strips).fill(Number.NaN);
  const own = (k: number): number => (Math.atan2(im[k], re[k]) / (2 * Math.PI)) * period;
  const good = (k: number): boolean => count[k] >= 2 && Math.hypot(re[k], im[k]) > 0.6 * count[k];
  const ranked = Array.from({ length: lines.strips }, (_, k) => k).toSorted((a, b) => count[b] - count[a]);
  const middle = ranked.find(good);
  if (middle === undefined) return out;
  out[middle] = own(middle);
  for (const sense of [-1, 1])
    for (let k = middle + sense, last = middle, slope = 0; k >= 0 && k < lines.strips; k += sense) {
      if (!good(k)) continue;
      const expected = out[last] + slope * (k - last);
      out[k] = own(k) + Math.round((expected - own(k)) / period) * period;
      slope = (out[k] - out[middle]) / (k - middle);
      last = k;
    }
  return out;
}

import { normalCdf } from '../tip/normal-table.ts';
import { edgeWidth } from '../tip/sharpness.ts';
import type { Flanks, Side } from './flanks.ts';
import { onFlank, toPicture } from './flanks.ts';
import { valueAt, type Plane } from './planes.ts';

/**
 * The 10-90 % width of the part's edge next to the tip, by the definition of core/tip/sharpness, from the edge profile
 * of both flanks just above the arc (ISO 12233's way: many profiles laid over each other by the fitted line give one
 * finely sampled profile). Flanks are straight, so no curvature widens it.
 */
export type EdgeReading = {
  /** 10-90 % width, pixels. */
  readonly widthPx: number;
  /** Step from field to part, grey 0..1, without sign. */
  readonly contrast: number;
  /** The part is brighter than the field. */
  readonly lit: boolean;
};

const BIN_PX = 0.25;

/** Null where the profile shows no edge. */
export function edgeWidthOf(plane: Plane, flanks: Flanks): EdgeReading | null {
  const reach = Math.min(45, Math.max(10, 0.8 * flanks.radiusPx));
  const length = Math.min(0.9 * flanks.lengthPx, Math.max(40, 2.5 * flanks.radiusPx));
  const found = (['left', 'right'] as const).flatMap((side) => {
    const fitted = fitEdge(profileOf(plane, flanks, side, length, reach), reach);
    return fitted === null ? [] : [fitted];
  });
  if (found.length === 0) return null;
  const mean = (pick: (one: Fit) => number): number =>
    found.reduce((sum, one) => sum + pick(one), 0) / found.length;
  return {
    widthPx: edgeWidth(
      mean((one) => one.sigma),
      0,
    ),
    contrast: mean((one) => Math.abs(one.rise)),
    lit: mean((one) => one.rise) > 0,
  };
}

/** Mean grey value against the distance from the flank's line, outwards positive; NaN in empty bins. */
function profileOf(plane: Plane, flanks: Flanks, side: Side, length: number, reach: number): Float64Array {
  const n = 2 * Math.round(reach / BIN_PX) + 1;
  const sums = new Float64Array(n);
  const counts = new Uint32Array(n);
  const rows = Math.max(12, Math.round(length));
  for (let k = 0; k < rows; k++) {
    const at = onFlank(flanks, side, 0.05 * flanks.radiusPx + (length * k) / rows);
    // shifted by a different part of a pixel on each line, so that every bin is met
    const start = ((k * 0.618) % 1) - reach;
    for (let t = start; t <= reach; t += 1) {
      const [x, y] = toPicture(flanks, at.x + t * at.nx, at.y + t * at.ny);
      if (x < 0 || y < 0 || x > plane.width - 1 || y > plane.height - 1) continue;
      const bin = Math.round((t + reach) / BIN_PX);
      if (bin < 0 || bin >= n) continue;
      sums[bin] += valueAt(plane, x, y);
      counts[bin]++;
    }
  }
  return sums.map((sum, i) => (counts[i] > 0 ? sum / counts[i] : NaN));
}

type Fit = { readonly sigma: number; readonly rise: number };

/** Field + (inner level, sloping inwards) x Gaussian edge, least squares; sigma and place by a search, the rest linear. */
function fitEdge(profile: Float64Array, reach: number): Fit | null {
  const t: number[] = [];
  const v: number[] = [];
  profile.forEach((value, i) => {
    if (!Number.isFinite(value)) return;
    t.push(i * BIN_PX - reach);
    v.push(value);
  });
  if (t.length < 16) return null;
  let best = { cost: Infinity, sigma: 1, at: 0, rise: 0 };
  const tryOne = (sigma: number, at: number): void => {
    const { cost, rise } = linearFit(t, v, sigma, at);
    if (cost < best.cost) best = { cost, sigma, at, rise };
  };
  for (let sigma = 0.35; sigma < reach / 1.5; sigma *= 1.2)
    for (let at = -2.4; at <= 2.4; at += 0.6) tryOne(sigma, at);
  for (let step = 0.1; step > 0.004; step /= 2) {
    const { sigma, at } = best;
    for (const s of [1 - step, 1, 1 + step])
      for (const d of [-1, 0, 1]) tryOne(sigma * s, at + d * step * 3 * sigma);
  }
  return Math.abs(best.rise) < 0.03 ? null : { sigma: best.sigma, rise: best.rise };
}

/** v = f + m (r + q t m'), with m the blurred mask: linear in field f, rise r and inner slope q. */
function linearFit(
  t: readonly number[],
  v: readonly number[],
  sigma: number,
  at: number,
): { cost: number; rise: number } {
  let n = 0;
  let a = 0;
  let b = 0;
  let aa = 0;
  let ab = 0;
  let bb = 0;
  let y = 0;
  let ay = 0;
  let by = 0;
  let yy = 0;
  for (let i = 0; i < t.length; i++) {
    const m = normalCdf((at - t[i]) / sigma);
    const slope = m * Math.min(0, t[i]);
    n++;
    a += m;
    b += slope;
    aa += m * m;
    ab += m * slope;
    bb += slope * slope;
    y += v[i];
    ay += m * v[i];
    by += slope * v[i];
    yy += v[i] * v[i];
  }
  // Centred normal equations of two unknowns.
  const caa = aa - (a * a) / n;
  const cab = ab - (a * b) / n;
  const cbb = bb - (b * b) / n;
  const cay = ay - (a * y) / n;
  const cby = by - (b * y) / n;
  const cyy = yy - (y * y) / n;
  const det = caa * cbb - cab * cab;
  if (!(det > 1e-12)) return { cost: cyy, rise: 0 };
  const rise = (cbb * cay - cab * cby) / det;
  const q = (caa * cby - cab * cay) / det;
  return { cost: cyy - rise * cay - q * cby, rise };
}

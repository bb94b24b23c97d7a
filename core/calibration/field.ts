import { leastSquares } from '../fit/linear-algebra.ts';
import type { LineCentres } from './lines.ts';
import type { Spacing } from './spacing.ts';

/**
 * An even rule seen through a lens that bends lines and on a slide that may lie at a slant, all seen from the picture's
 * middle (u across the lines, v along them, px from there): u (1 - k r^2/R^2) - a u^2 - b u v - c v^2 = o + P i + t v.
 * All of the bending terms and their slopes vanish in the middle, so P is the spacing there, where a part is measured.
 * R is half the picture's diagonal, k the share by which a corner is moved (positive: outwards, pincushion).
 */
export type LineField = {
  /** Spacing along u at the picture's middle, px a line; its standard deviation from scatter and line shape. */
  readonly period: number;
  readonly periodStandard: number;
  readonly degreesOfFreedom: number;
  /** u per v along a line in the middle. */
  readonly tilt: number;
  /** The bending terms took part: they stand out of the scatter. */
  readonly bends: boolean;
  /** Displacement of the picture's corner by the lens, share of its distance from the middle; standard deviation. */
  readonly corner: number;
  readonly cornerStandard: number;
  /** Scatter of the lines' means about the rule, px. */
  readonly scatter: number;
};

const COLUMNS = 7;
const ROUNDS = 5;
/** Bending terms count when they explain this many times what chance would, and move some line by this, px. */
const LEAST_F = 12;
const LEAST_MOVE_PX = 0.12;

/** `linePx`: what uneven light and surroundings move a line by, the same over all of its length. null without enough lines. */
export function fitField(
  lines: LineCentres,
  spacing: Spacing,
  halfDiagonal: number,
  linePx: number,
): LineField | null {
  const n = lines.u.length;
  const index = Float64Array.from(spacing.index);
  let keep = Array.from(spacing.used.keys()).filter((i) => spacing.used[i]);
  const row = (i: number): number[] => {
    const [u, v] = [lines.u[i] / halfDiagonal, lines.v[i] / halfDiagonal];
    return [
      1,
      index[i],
      lines.v[i],
      lines.u[i] * (u * u + v * v),
      lines.u[i] * u,
      lines.u[i] * v,
      lines.v[i] * v,
    ];
  };
  const solve = (columns: number) =>
    leastSquares(
      keep.flatMap((i) => row(i).slice(0, columns)),
      Float64Array.from(keep, (i) => lines.u[i]),
      keep.length,
      columns,
    );
  let full = null;
  for (let round = 0; round < ROUNDS; round++) {
    if (keep.length < 3 * COLUMNS) break;
    const solved = solve(COLUMNS);
    if (solved === null) break;
    full = solved;
    const p = solved.solution;
    const rest = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const [, , v, ...bend] = row(i);
      const u = lines.u[i] - bend.reduce((sum, x, k) => sum + x * p[3 + k], 0);
      // Towards the rim an even comb may have been counted wrongly.
      index[i] = Math.round((u - p[0] - p[2] * v) / p[1]);
      rest[i] = u - p[0] - p[1] * index[i] - p[2] * v;
    }
    const sizes = keep.map((i) => Math.abs(rest[i])).toSorted((a, b) => a - b);
    const spread = Math.max(0.02, 1.4826 * sizes[sizes.length >> 1]);
    const next = Array.from(rest.keys()).filter((i) => Math.abs(rest[i]) < 5 * spread);
    if (next.length < 3 * COLUMNS) break;
    keep = next;
  }
  const straight = solve(3);
  full = keep.length < 3 * COLUMNS ? null : solve(COLUMNS);
  if (straight === null) return null;
  const bends =
    full !== null &&
    standOut(straight.sumOfSquares, full.sumOfSquares, keep.length, lines, full.solution, halfDiagonal, keep);
  const chosen = bends && full !== null ? full : straight;
  const columns = bends ? COLUMNS : 3;
  const perLine = new Map<number, { sum: number; count: number }>();
  keep.forEach((i, k) => {
    const entry = perLine.get(index[i]) ?? { sum: 0, count: 0 };
    entry.sum += chosen.residuals[k];
    entry.count++;
    perLine.set(index[i], entry);
  });
  const count = perLine.size;
  const means = Array.from(perLine.values(), (e) => e.sum / e.count);
  const scatter = Math.sqrt(means.reduce((sum, m) => sum + m * m, 0) / Math.max(1, count - columns + 1));
  // All strips of a line share what moves the line, so a centre counts as a share of its line.
  const strips = keep.length / Math.max(1, count);
  const variance = strips * (scatter ** 2 + linePx ** 2);
  const deviation = (j: number): number => Math.sqrt(variance * chosen.inverseNormal[j * columns + j]);
  return {
    period: chosen.solution[1],
    periodStandard: deviation(1),
    degreesOfFreedom: Math.max(1, count - columns + 1),
    tilt: chosen.solution[2],
    bends,
    corner: bends ? chosen.solution[3] : 0,
    cornerStandard: bends ? deviation(3) : 0,
    scatter,
  };
}

function standOut(
  plain: number,
  full: number,
  n: number,
  lines: LineCentres,
  p: Float64Array,
  halfDiagonal: number,
  keep: readonly number[],
): boolean {
  const f = (plain - full) / 4 / (full / Math.max(1, n - COLUMNS));
  const most = keep.reduce((sum, i) => {
    const [u, v] = [lines.u[i] / halfDiagonal, lines.v[i] / halfDiagonal];
    const move = lines.u[i] * (p[3] * (u * u + v * v) + p[4] * u + p[5] * v) + p[6] * lines.v[i] * v;
    return Math.max(sum, Math.abs(move));
  }, 0);
  return f > LEAST_F && most > LEAST_MOVE_PX;
}

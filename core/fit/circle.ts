import { eigenSymmetric, leastSquares, solveLinear } from './linear-algebra.ts';

/** Least orthogonal distances. Lengths in the unit of the points. */
export type CircleFit = {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
  readonly radiusStandard: number;
  /** Covariance of (x, y, radius), row-major 3 x 3, from the residuals (or from `sigma` when given). */
  readonly covariance: Float64Array;
  /** sqrt(sum of squared distances / (n - 3)). */
  readonly residualStandard: number;
  /** Angle that the points take up as seen from the centre, degrees: a radius means nothing without it. */
  readonly arcDeg: number;
  readonly converged: boolean;
};

/**
 * Geometric circle through points: Gauss-Newton with Levenberg's damping (Gander, Golub & Strebel, BIT 34 (1994) 558).
 * `sigma` is the standard deviation of a point across the outline when it is known; else the residuals tell.
 * null when the points lie on a line, or are fewer than four (three leave nothing to judge the errors by).
 */
export function fitCircle(x: ArrayLike<number>, y: ArrayLike<number>, sigma?: number): CircleFit | null {
  const n = x.length;
  if (n < 4 || y.length !== n) return null;
  const start = algebraicCircle(x, y);
  if (start === null) return null;
  let p = start;
  let cost = circleCost(x, y, p);
  let damping = 1e-4;
  let converged = false;
  for (let round = 0; round < 200 && !converged; round++) {
    const step = circleStep(x, y, p, damping);
    if (step === null) return null;
    const next: CircleParameters = [p[0] + step[0], p[1] + step[1], p[2] + step[2]];
    const nextCost = circleCost(x, y, next);
    const small = Math.hypot(step[0], step[1], step[2]) <= 1e-12 * (Math.abs(p[2]) + 1e-300);
    if (nextCost <= cost) {
      p = next;
      cost = nextCost;
      damping = Math.max(1e-15, damping / 10);
      converged = small;
    } else {
      damping *= 10;
      // No step helps any more: the bottom is reached to rounding.
      converged = small || damping > 1e12;
    }
  }
  return describeCircle(x, y, p, cost, sigma, converged);
}

type CircleParameters = readonly [x: number, y: number, radius: number];

function circleCost(x: ArrayLike<number>, y: ArrayLike<number>, [cx, cy, r]: CircleParameters): number {
  let sum = 0;
  for (let i = 0; i < x.length; i++) sum += (Math.hypot(x[i] - cx, y[i] - cy) - r) ** 2;
  return sum;
}

/** Rows of the design: outward unit vector and 1; the distance grows by minus that times the step. */
function circleDesign(x: ArrayLike<number>, y: ArrayLike<number>, [cx, cy, r]: CircleParameters) {
  const n = x.length;
  const design = new Float64Array(n * 3);
  const distance = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const dx = x[i] - cx;
    const dy = y[i] - cy;
    const d = Math.hypot(dx, dy) || 1e-300;
    design[i * 3] = dx / d;
    design[i * 3 + 1] = dy / d;
    design[i * 3 + 2] = 1;
    distance[i] = d - r;
  }
  return { design, distance };
}

function circleStep(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  p: CircleParameters,
  damping: number,
): Float64Array | null {
  const n = x.length;
  const { design, distance } = circleDesign(x, y, p);
  const rows = new Float64Array((n + 3) * 3);
  const rhs = new Float64Array(n + 3);
  rows.set(design);
  rhs.set(distance);
  for (let j = 0; j < 3; j++) rows[(n + j) * 3 + j] = Math.sqrt(damping * n);
  return leastSquares(rows, rhs, n + 3, 3)?.solution ?? null;
}

function describeCircle(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  p: CircleParameters,
  cost: number,
  sigma: number | undefined,
  converged: boolean,
): CircleFit | null {
  const n = x.length;
  const { design, distance } = circleDesign(x, y, p);
  const solved = leastSquares(design, distance, n, 3);
  if (solved === null) return null;
  const residualStandard = Math.sqrt(cost / (n - 3));
  const variance = (sigma ?? residualStandard) ** 2;
  const covariance = solved.inverseNormal.map((v) => v * variance);
  return {
    x: p[0],
    y: p[1],
    radius: p[2],
    radiusStandard: Math.sqrt(covariance[8]),
    covariance,
    residualStandard,
    arcDeg: arcOf(x, y, p),
    converged,
  };
}

/** 360 degrees less the largest empty gap. */
function arcOf(x: ArrayLike<number>, y: ArrayLike<number>, [cx, cy]: CircleParameters): number {
  const angles = Float64Array.from({ length: x.length }, (_, i) =>
    Math.atan2(y[i] - cy, x[i] - cx),
  ).toSorted();
  let gap = angles[0] + 2 * Math.PI - angles[angles.length - 1];
  for (let i = 1; i < angles.length; i++) gap = Math.max(gap, angles[i] - angles[i - 1]);
  return 360 - (gap * 180) / Math.PI;
}

/** Kasa's fit about the centroid: a start only, as it shrinks short arcs. null when the points lie on a line. */
function algebraicCircle(x: ArrayLike<number>, y: ArrayLike<number>): CircleParameters | null {
  const n = x.length;
  let mx = 0;
  let my = 0;
  for (let i = 0; i < n; i++) {
    mx += x[i] / n;
    my += y[i] / n;
  }
  let [uu, uv, vv, uz, vz] = [0, 0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    const u = x[i] - mx;
    const v = y[i] - my;
    const z = u * u + v * v;
    uu += u * u;
    uv += u * v;
    vv += v * v;
    uz += u * z;
    vz += v * z;
  }
  const { values } = eigenSymmetric([uu, uv, uv, vv], 2);
  if (!(values[0] > 1e-12 * values[1])) return null;
  const c = solveLinear([uu, uv, uv, vv], [uz / 2, vz / 2], 2);
  if (c === null) return null;
  return [c[0] + mx, c[1] + my, Math.sqrt(c[0] ** 2 + c[1] ** 2 + (uu + vv) / n)];
}

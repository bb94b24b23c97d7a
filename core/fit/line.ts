import { leastSquares } from './linear-algebra.ts';

/** y = intercept + slope x. Covariance in the units of the parameters. */
export type LineFit = {
  readonly intercept: number;
  readonly slope: number;
  readonly interceptStandard: number;
  readonly slopeStandard: number;
  readonly covariance: number;
  /** Standard deviation of one residual of weight 1: sqrt(sum w r^2 / (n - 2)). */
  readonly residualStandard: number;
  readonly degreesOfFreedom: number;
  readonly residuals: Float64Array;
};

/**
 * Straight line with errors in y only. `weights` are relative (1/sigma^2 up to a factor); the size of the errors is
 * taken from the residuals. null when all x are alike or fewer than three points are given.
 */
export function fitLine(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  weights?: ArrayLike<number>,
): LineFit | null {
  const fit = fitPolynomial(x, y, 1, weights);
  if (fit === null) return null;
  return {
    intercept: fit.coefficients[0],
    slope: fit.coefficients[1],
    interceptStandard: Math.sqrt(fit.covariance[0]),
    slopeStandard: Math.sqrt(fit.covariance[3]),
    covariance: fit.covariance[1],
    residualStandard: fit.residualStandard,
    degreesOfFreedom: fit.degreesOfFreedom,
    residuals: fit.residuals,
  };
}

/** Value of the line at `x` and its standard uncertainty (of the line, not of a new observation). */
export function lineAt(fit: LineFit, x: number): { readonly value: number; readonly standard: number } {
  const variance = fit.interceptStandard ** 2 + 2 * x * fit.covariance + x * x * fit.slopeStandard ** 2;
  return { value: fit.intercept + fit.slope * x, standard: Math.sqrt(Math.max(0, variance)) };
}

/** y = sum c_k x^k. `covariance` is row-major, (degree + 1) squared. */
export type PolynomialFit = {
  readonly coefficients: Float64Array;
  readonly covariance: Float64Array;
  readonly residualStandard: number;
  readonly degreesOfFreedom: number;
  readonly residuals: Float64Array;
};

/** Weighted polynomial; needs at least one more point than coefficients, so that the errors can be seen. */
export function fitPolynomial(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  degree: number,
  weights?: ArrayLike<number>,
): PolynomialFit | null {
  const m = x.length;
  const n = degree + 1;
  if (y.length !== m || (weights && weights.length !== m))
    throw new RangeError(`fitPolynomial: ${m} x, ${y.length} y and ${weights?.length ?? 'no'} weights`);
  if (m <= n) return null;
  const design = new Float64Array(m * n);
  const rhs = new Float64Array(m);
  for (let i = 0; i < m; i++) {
    const root = Math.sqrt(weights?.[i] ?? 1);
    for (let j = 0, power = root; j < n; j++, power *= x[i]) design[i * n + j] = power;
    rhs[i] = root * y[i];
  }
  const solved = leastSquares(design, rhs, m, n);
  if (solved === null) return null;
  const variance = solved.sumOfSquares / (m - n);
  const residuals = Float64Array.from({ length: m }, (_, i) => {
    let value = 0;
    for (let j = n - 1; j >= 0; j--) value = value * x[i] + solved.solution[j];
    return y[i] - value;
  });
  return {
    coefficients: solved.solution,
    covariance: solved.inverseNormal.map((v) => v * variance),
    residualStandard: Math.sqrt(variance),
    degreesOfFreedom: m - n,
    residuals,
  };
}

/** Line with known errors in both variables. `reducedChiSquare` well above 1: the errors were stated too small. */
export type YorkFit = {
  readonly intercept: number;
  readonly slope: number;
  readonly interceptStandard: number;
  readonly slopeStandard: number;
  readonly covariance: number;
  readonly reducedChiSquare: number;
};

/**
 * Straight line with errors in both variables, uncorrelated within a point: York, Evensen, Martinez & De Basabe,
 * Am. J. Phys. 72 (2004) 367. `ux`, `uy` are standard uncertainties, not all zero in a point. null when it does not settle.
 */
export function fitLineYork(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  ux: ArrayLike<number>,
  uy: ArrayLike<number>,
): YorkFit | null {
  const n = x.length;
  const start = n > 2 ? fitLine(x, y) : null;
  let b = start?.slope ?? (y[1] - y[0]) / (x[1] - x[0]);
  for (let round = 0; round < 200; round++) {
    const step = yorkStep(x, y, ux, uy, b);
    if (!Number.isFinite(step.slope)) return null;
    const settled = Math.abs(step.slope - b) <= 1e-13 * (1e-300 + Math.abs(step.slope));
    b = step.slope;
    if (settled || round === 199) return settled ? { ...step } : null;
  }
  return null;
}

function yorkStep(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  ux: ArrayLike<number>,
  uy: ArrayLike<number>,
  b: number,
): YorkFit {
  const n = x.length;
  const w = Float64Array.from({ length: n }, (_, i) => 1 / (uy[i] ** 2 + b * b * ux[i] ** 2));
  const total = w.reduce((s, v) => s + v, 0);
  const mean = (v: ArrayLike<number>) => w.reduce((s, wi, i) => s + wi * v[i], 0) / total;
  const xm = mean(x);
  const ym = mean(y);
  const beta = w.map((wi, i) => wi * ((x[i] - xm) * uy[i] ** 2 + b * (y[i] - ym) * ux[i] ** 2));
  const top = w.reduce((s, wi, i) => s + wi * beta[i] * (y[i] - ym), 0);
  const bottom = w.reduce((s, wi, i) => s + wi * beta[i] * (x[i] - xm), 0);
  const slope = top / bottom;
  const intercept = ym - slope * xm;
  const adjusted = beta.map((v) => xm + v);
  const am = mean(adjusted);
  const slopeVariance = 1 / w.reduce((s, wi, i) => s + wi * (adjusted[i] - am) ** 2, 0);
  const chi = w.reduce((s, wi, i) => s + wi * (y[i] - slope * x[i] - intercept) ** 2, 0);
  return {
    slope,
    intercept,
    slopeStandard: Math.sqrt(slopeVariance),
    interceptStandard: Math.sqrt(1 / total + am * am * slopeVariance),
    covariance: -am * slopeVariance,
    reducedChiSquare: n > 2 ? chi / (n - 2) : 0,
  };
}

/** A line without a preferred axis: through (x, y), along (cos, sin) of the direction, in the points' own unit. */
export type OrthogonalLine = {
  readonly x: number;
  readonly y: number;
  /** Radians; the line has no sense, so the angle lies in (-pi/2, pi/2]. */
  readonly direction: number;
  readonly directionStandard: number;
  /** Root mean square of the distances, corrected for the two parameters. */
  readonly residualStandard: number;
};

/** Total least squares through points (both coordinates equally uncertain); null for fewer than three points. */
export function fitLineOrthogonal(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  weights?: ArrayLike<number>,
): OrthogonalLine | null {
  const n = x.length;
  if (n < 3) return null;
  let w = 0;
  let mx = 0;
  let my = 0;
  for (let i = 0; i < n; i++) {
    const wi = weights?.[i] ?? 1;
    w += wi;
    mx += wi * x[i];
    my += wi * y[i];
  }
  mx /= w;
  my /= w;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let i = 0; i < n; i++) {
    const wi = weights?.[i] ?? 1;
    xx += wi * (x[i] - mx) ** 2;
    xy += wi * (x[i] - mx) * (y[i] - my);
    yy += wi * (y[i] - my) ** 2;
  }
  const spread = Math.hypot(xx - yy, 2 * xy);
  const along = (xx + yy + spread) / 2;
  if (!(along > 0) || !(spread > 1e-12 * along)) return null;
  const across = Math.max(0, (xx + yy - spread) / 2);
  const variance = across / (n - 2);
  return {
    x: mx,
    y: my,
    direction: 0.5 * Math.atan2(2 * xy, xx - yy),
    directionStandard: Math.sqrt(variance / along),
    residualStandard: Math.sqrt((variance * n) / w),
  };
}

import { invertSymmetric, solveSymmetric } from './normal-equations.ts';

export type Linear = {
  /** Coefficients, one a column. */
  readonly p: Float64Array;
  /** v - design . p */
  readonly rest: Float64Array;
  /** What `weigh` gave to that rest. */
  readonly weight: Float64Array;
  /** Inverse of the weighted normal matrix that gave p, columns x columns: times the variance of an observation its covariance. */
  readonly inverse: () => Float64Array | null;
};

/**
 * Least squares v = design . p, weighted anew by what is left over: all alike at first, or by what `first`, the rest of a line
 * that was found otherwise, would give them; then as `weigh` says, `rounds` times. The design is row-major. Null when the columns depend on each other.
 */
export function reweighted(
  design: Float64Array,
  v: Float64Array,
  columns: number,
  rounds: number,
  weigh: (rest: Float64Array) => Float64Array,
  first?: Float64Array,
): Linear | null {
  const n = v.length;
  let weight: Float64Array = first ? weigh(first) : new Float64Array(n).fill(1);
  const rest = new Float64Array(n);
  // Columns of one size: a heading and an offset in pixels differ by orders.
  const size = new Float64Array(columns);
  for (let k = 0; k < design.length; k++)
    size[k % columns] = Math.max(size[k % columns], Math.abs(design[k]));
  const a = new Float64Array(columns * columns);
  const g = new Float64Array(columns);
  let p = new Float64Array(columns);
  for (let round = 0; round < rounds; round++) {
    a.fill(0);
    g.fill(0);
    for (let i = 0; i < n; i++)
      for (let j = 0; j < columns; j++) {
        const w = (weight[i] * design[i * columns + j]) / size[j];
        g[j] += w * v[i];
        for (let k = 0; k <= j; k++) a[j * columns + k] += (w * design[i * columns + k]) / size[k];
      }
    const solved = solveSymmetric(a, g, columns);
    if (solved === null) return null;
    p = solved.map((value, j) => value / size[j]);
    for (let i = 0; i < n; i++) {
      let sum = v[i];
      for (let j = 0; j < columns; j++) sum -= design[i * columns + j] * p[j];
      rest[i] = sum;
    }
    weight = weigh(rest);
  }
  const inverse = (): Float64Array | null => {
    for (let j = 0; j < columns; j++) for (let k = 0; k < j; k++) a[k * columns + j] = a[j * columns + k];
    const scaled = invertSymmetric(a, columns);
    return scaled && scaled.map((value, i) => value / (size[Math.floor(i / columns)] * size[i % columns]));
  };
  return { p, rest, weight, inverse };
}

/** Of the observations' unit: what is left over by less weighs as if it were so much. */
const LEAST_REST = 0.1;

/** Least absolute values, by reweighting. */
export const robustLinear = (design: Float64Array, v: Float64Array, columns: number): Linear | null =>
  reweighted(design, v, columns, 12, (rest) => rest.map((r) => 1 / Math.max(LEAST_REST, Math.abs(r))));

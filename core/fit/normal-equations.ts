/**
 * Small dense symmetric systems for the fits. Matrices are row-major Float64Array of n x n.
 */

/** Cholesky factor (lower) of the lower triangle of `a`; null when the matrix is not positive definite. */
export function cholesky(a: Float64Array, n: number): Float64Array | null {
  return factorise(a.slice(), n);
}

/**
 * The same in place of the lower triangle; what stands above it is left alone. What is zero at the beginning of a row stays
 * zero in the factor and is passed over, so an order of the parameters that begins with what hangs together least is several
 * times faster.
 */
function factorise(l: Float64Array, n: number): Float64Array | null {
  const first = new Int32Array(n);
  for (let i = 0; i < n; i++) {
    const row = i * n;
    let from = 0;
    while (from < i && l[row + from] === 0) from++;
    first[i] = from;
    for (let j = from; j <= i; j++) {
      let sum = l[row + j];
      for (let k = Math.max(from, first[j]); k < j; k++) sum -= l[row + k] * l[j * n + k];
      if (i === j) {
        if (!(sum > 0)) return null;
        l[row + i] = Math.sqrt(sum);
      } else l[row + j] = sum / l[j * n + j];
    }
  }
  return l;
}

/** Solves L L^T x = g for a Cholesky factor. */
export function solveCholesky(l: Float64Array, g: ArrayLike<number>, n: number): Float64Array {
  const x = Float64Array.from(g);
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < i; k++) x[i] -= l[i * n + k] * x[k];
    x[i] /= l[i * n + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let k = i + 1; k < n; k++) x[i] -= l[k * n + i] * x[k];
    x[i] /= l[i * n + i];
  }
  return x;
}

/** Solves A x = g for symmetric positive definite A; null when it is not. */
export function solveSymmetric(a: Float64Array, g: ArrayLike<number>, n: number): Float64Array | null {
  const l = cholesky(a, n);
  return l && solveCholesky(l, g, n);
}

/** Inverse of a symmetric positive definite matrix; null when it is not. */
export function invertSymmetric(a: Float64Array, n: number): Float64Array | null {
  // Scaling to a unit diagonal keeps mixed units (um, rad, grey) from spoiling the factorisation.
  const d = new Float64Array(n);
  for (let i = 0; i < n; i++) d[i] = a[i * n + i] > 0 ? 1 / Math.sqrt(a[i * n + i]) : 1;
  const scaled = new Float64Array(n * n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) scaled[i * n + j] = a[i * n + j] * d[i] * d[j];
  const l = factorise(scaled, n);
  if (!l) return null;
  const out = new Float64Array(n * n);
  const unit = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    unit.fill(0);
    unit[j] = 1;
    const column = solveCholesky(l, unit, n);
    for (let i = 0; i < n; i++) out[i * n + j] = column[i] * d[i] * d[j];
  }
  return out;
}

/**
 * Block of the inverse of a symmetric positive definite matrix that belongs to the parameters `keep` (in that order,
 * row-major keep x keep): the others are eliminated first, in the order of `sequence` (all n), so that only a small matrix
 * is left to invert (Schur complement). Null when the matrix is not positive definite.
 */
export function invertBlock(
  a: Float64Array,
  n: number,
  keep: readonly number[],
  sequence: readonly number[] = Array.from({ length: n }, (_, i) => i),
): Float64Array | null {
  const kept = new Set(keep);
  const order = [...sequence.filter((i) => !kept.has(i)), ...keep];
  const d = new Float64Array(n);
  for (let i = 0; i < n; i++) d[i] = a[i * n + i] > 0 ? 1 / Math.sqrt(a[i * n + i]) : 1;
  const scaled = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) scaled[i * n + j] = a[order[i] * n + order[j]] * d[order[i]] * d[order[j]];
  const l = factorise(scaled, n);
  if (!l) return null;
  const m = keep.length;
  const from = n - m;
  const schur = new Float64Array(m * m);
  for (let i = 0; i < m; i++)
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (let k = 0; k <= j; k++) sum += l[(from + i) * n + from + k] * l[(from + j) * n + from + k];
      schur[i * m + j] = sum;
      schur[j * m + i] = sum;
    }
  const out = invertSymmetric(schur, m);
  if (out) for (let i = 0; i < m; i++) for (let j = 0; j < m; j++) out[i * m + j] *= d[keep[i]] * d[keep[j]];
  return out;
}

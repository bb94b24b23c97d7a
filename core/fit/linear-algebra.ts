/**
 * Small dense linear algebra for the fits. Matrices are row-major. Least squares go through Householder's QR and not
 * through the normal equations: it keeps all digits where a design is nearly dependent (NIST's Pontius needs it).
 */
export type LeastSquares = {
  readonly solution: Float64Array;
  /** (A'A)^-1, n x n: times the variance of one observation it is the covariance of the solution. */
  readonly inverseNormal: Float64Array;
  readonly residuals: Float64Array;
  readonly sumOfSquares: number;
};

/** A column shorter than this part of its own length after projection counts as dependent on the others. */
const DEPENDENT = 1e-13;

/** Minimises |A x - b| for an m x n matrix, m >= n; null when a column depends on the others. */
export function leastSquares(
  a: ArrayLike<number>,
  b: ArrayLike<number>,
  m: number,
  n: number,
): LeastSquares | null {
  if (m < n || a.length !== m * n || b.length !== m)
    throw new RangeError(`leastSquares: ${m} x ${n} does not fit ${a.length} and ${b.length} numbers`);
  const q = new Float64Array(a);
  const rhs = new Float64Array(b);
  const scale = columnLengths(q, m, n);
  if (scale === null) return null;
  for (let i = 0; i < m; i++) for (let j = 0; j < n; j++) q[i * n + j] /= scale[j];
  const diagonal = triangularise(q, rhs, m, n);
  if (diagonal === null) return null;
  const inverse = invertUpper(q, diagonal, n);
  const solution = new Float64Array(n);
  for (let i = 0; i < n; i++)
    for (let j = i; j < n; j++) solution[i] += (inverse[i * n + j] * rhs[j]) / scale[i];
  const inverseNormal = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      let sum = 0;
      for (let k = Math.max(i, j); k < n; k++) sum += inverse[i * n + k] * inverse[j * n + k];
      inverseNormal[i * n + j] = sum / (scale[i] * scale[j]);
    }
  const residuals = new Float64Array(m);
  let sumOfSquares = 0;
  for (let i = 0; i < m; i++) {
    let r = b[i];
    for (let j = 0; j < n; j++) r -= a[i * n + j] * solution[j];
    residuals[i] = r;
    sumOfSquares += r * r;
  }
  return { solution, inverseNormal, residuals, sumOfSquares };
}

function columnLengths(a: Float64Array, m: number, n: number): Float64Array | null {
  const lengths = new Float64Array(n);
  for (let i = 0; i < m; i++) for (let j = 0; j < n; j++) lengths[j] += a[i * n + j] ** 2;
  for (let j = 0; j < n; j++) {
    if (!(lengths[j] > 0) || !Number.isFinite(lengths[j])) return null;
    lengths[j] = Math.sqrt(lengths[j]);
  }
  return lengths;
}

/** Householder reflections in place; the upper triangle stays in `q`, its diagonal is returned apart. */
function triangularise(q: Float64Array, rhs: Float64Array, m: number, n: number): Float64Array | null {
  const diagonal = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    // Columns come in with length 1, so squares neither vanish nor overflow.
    let length = 0;
    for (let i = k; i < m; i++) length += q[i * n + k] ** 2;
    length = Math.sqrt(length);
    if (!(length > DEPENDENT)) return null;
    const sign = q[k * n + k] > 0 ? 1 : -1;
    diagonal[k] = -sign * length;
    q[k * n + k] += sign * length;
    let norm = 0;
    for (let i = k; i < m; i++) norm += q[i * n + k] ** 2;
    for (let j = k + 1; j < n; j++) reflect(q, k, n, q, j, n, k, m, norm);
    reflect(q, k, n, rhs, 0, 1, k, m, norm);
  }
  return diagonal;
}

/** target column -= 2 v (v . target) / (v . v), v being column `k` of `q` from row `from` on. */
function reflect(
  q: Float64Array,
  k: number,
  n: number,
  target: Float64Array,
  column: number,
  stride: number,
  from: number,
  m: number,
  norm: number,
): void {
  let dot = 0;
  for (let i = from; i < m; i++) dot += q[i * n + k] * target[i * stride + column];
  const f = (2 * dot) / norm;
  for (let i = from; i < m; i++) target[i * stride + column] -= f * q[i * n + k];
}

function invertUpper(q: Float64Array, diagonal: Float64Array, n: number): Float64Array {
  const inverse = new Float64Array(n * n);
  for (let j = 0; j < n; j++) {
    inverse[j * n + j] = 1 / diagonal[j];
    for (let i = j - 1; i >= 0; i--) {
      let sum = 0;
      for (let k = i + 1; k <= j; k++) sum += q[i * n + k] * inverse[k * n + j];
      inverse[i * n + j] = -sum / diagonal[i];
    }
  }
  return inverse;
}

/** Solves A x = b for a square matrix by elimination with partial pivoting; null when A is singular. */
export function solveLinear(a: ArrayLike<number>, b: ArrayLike<number>, n: number): Float64Array | null {
  const m = Float64Array.from(a);
  const x = Float64Array.from(b);
  const largest = m.reduce((most, v) => Math.max(most, Math.abs(v)), 0);
  for (let k = 0; k < n; k++) {
    let pivot = k;
    for (let i = k + 1; i < n; i++) if (Math.abs(m[i * n + k]) > Math.abs(m[pivot * n + k])) pivot = i;
    if (!(Math.abs(m[pivot * n + k]) > 1e-14 * largest)) return null;
    if (pivot !== k) {
      for (let j = 0; j < n; j++) [m[k * n + j], m[pivot * n + j]] = [m[pivot * n + j], m[k * n + j]];
      [x[k], x[pivot]] = [x[pivot], x[k]];
    }
    for (let i = k + 1; i < n; i++) {
      const f = m[i * n + k] / m[k * n + k];
      for (let j = k; j < n; j++) m[i * n + j] -= f * m[k * n + j];
      x[i] -= f * x[k];
    }
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let j = i + 1; j < n; j++) x[i] -= m[i * n + j] * x[j];
    x[i] /= m[i * n + i];
  }
  return x;
}

/** Eigenvalues, ascending, and the unit eigenvectors in the columns of `vectors`. */
export type Eigen = { readonly values: Float64Array; readonly vectors: Float64Array };

/** Eigen-decomposition of a symmetric matrix by Jacobi's rotations. */
export function eigenSymmetric(a: ArrayLike<number>, n: number): Eigen {
  const m = Float64Array.from(a);
  const v = new Float64Array(n * n);
  for (let i = 0; i < n; i++) v[i * n + i] = 1;
  for (let sweep = 0; sweep < 60; sweep++) {
    let off = 0;
    let total = 0;
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) {
        total += m[i * n + j] ** 2;
        if (i !== j) off += m[i * n + j] ** 2;
      }
    if (off <= 1e-30 * total) break;
    for (let p = 0; p < n - 1; p++) for (let q = p + 1; q < n; q++) rotate(m, v, n, p, q);
  }
  const order = Array.from({ length: n }, (_, i) => i).toSorted((i, j) => m[i * n + i] - m[j * n + j]);
  const values = Float64Array.from(order, (i) => m[i * n + i]);
  const vectors = new Float64Array(n * n);
  order.forEach((from, to) => {
    for (let i = 0; i < n; i++) vectors[i * n + to] = v[i * n + from];
  });
  return { values, vectors };
}

function rotate(m: Float64Array, v: Float64Array, n: number, p: number, q: number): void {
  const apq = m[p * n + q];
  if (apq === 0) return;
  const theta = (m[q * n + q] - m[p * n + p]) / (2 * apq);
  const t = (theta >= 0 ? 1 : -1) / (Math.abs(theta) + Math.hypot(theta, 1));
  const c = 1 / Math.hypot(t, 1);
  const s = t * c;
  for (let k = 0; k < n; k++) {
    const a = m[k * n + p];
    const b = m[k * n + q];
    m[k * n + p] = c * a - s * b;
    m[k * n + q] = s * a + c * b;
  }
  for (let k = 0; k < n; k++) {
    const a = m[p * n + k];
    const b = m[q * n + k];
    m[p * n + k] = c * a - s * b;
    m[q * n + k] = s * a + c * b;
    const d = v[k * n + p];
    const e = v[k * n + q];
    v[k * n + p] = c * d - s * e;
    v[k * n + q] = s * d + c * e;
  }
}

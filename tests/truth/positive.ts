/**
 * Inverse of a symmetric positive definite n x n matrix, rows one after another, by Cholesky's decomposition after its
 * diagonal was brought to 1. The laboratory's own, because it may not lean on the core that it judges. Throws a
 * RangeError when the matrix is not positive.
 */
export function inverseOfPositive(matrix: Float64Array, n: number): Float64Array {
  const scale = Float64Array.from({ length: n }, (_, i) => 1 / Math.sqrt(matrix[i * n + i]));
  const l = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * n + j] * scale[i] * scale[j];
      for (let k = 0; k < j; k++) sum -= l[i * n + k] * l[j * n + k];
      if (i === j && !(sum > 1e-13))
        throw new RangeError(`matrix: expected a positive definite one, row ${i} leaves ${sum}`);
      l[i * n + j] = i === j ? Math.sqrt(sum) : sum / l[j * n + j];
    }
  const out = new Float64Array(n * n);
  const column = new Float64Array(n);
  for (let c = 0; c < n; c++) {
    for (let i = 0; i < n; i++) {
      let sum = i === c ? 1 : 0;
      for (let k = 0; k < i; k++) sum -= l[i * n + k] * column[k];
      column[i] = sum / l[i * n + i];
    }
    for (let i = n - 1; i >= 0; i--) {
      let sum = column[i];
      for (let k = i + 1; k < n; k++) sum -= l[k * n + i] * column[k];
      column[i] = sum / l[i * n + i];
    }
    for (let i = 0; i < n; i++) out[i * n + c] = column[i] * scale[i] * scale[c];
  }
  return out;
}

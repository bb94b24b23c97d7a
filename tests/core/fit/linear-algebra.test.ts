import { describe, expect, it } from 'vitest';
import { eigenSymmetric, leastSquares, solveLinear } from '../../../core/fit/linear-algebra.ts';

describe('least squares by QR', () => {
  it('solves a consistent system exactly and returns the inverse normal matrix', () => {
    // A = [[1,0],[1,1],[1,2]], A'A = [[3,3],[3,5]], inverse = [[5,-3],[-3,3]]/6
    const fit = leastSquares([1, 0, 1, 1, 1, 2], [1, 3, 5], 3, 2)!;
    expect(Array.from(fit.solution)).toEqual([expect.closeTo(1, 12), expect.closeTo(2, 12)]);
    [5 / 6, -0.5, -0.5, 0.5].forEach((v, i) => expect(fit.inverseNormal[i]).toBeCloseTo(v, 12));
    expect(fit.sumOfSquares).toBeLessThan(1e-24);
  });

  it('keeps nine digits where the normal equations lose everything (condition 1e8)', () => {
    const e = 1e-8;
    // Columns (1, e, 0), (1, 0, e): A'A rounds to a singular matrix in double precision.
    const fit = leastSquares([1, 1, e, 0, 0, e], [2, e, e], 3, 2)!;
    expect(fit.solution[0]).toBeCloseTo(1, 6);
    expect(fit.solution[1]).toBeCloseTo(1, 6);
  });

  it('says null for dependent columns and throws for sizes that do not fit', () => {
    expect(leastSquares([1, 2, 2, 4, 3, 6], [1, 2, 3], 3, 2)).toBeNull();
    expect(leastSquares([0, 1, 0, 1, 0, 1], [1, 2, 3], 3, 2)).toBeNull();
    expect(() => leastSquares([1, 2], [1, 2, 3], 3, 2)).toThrow(/3 x 2/);
  });
});

describe('square systems and eigenvalues', () => {
  it('needs a row swap and gets it right', () => {
    expect(Array.from(solveLinear([0, 2, 1, 1], [4, 5], 2)!)).toEqual([3, 2]);
    expect(solveLinear([1, 2, 2, 4], [1, 2], 2)).toBeNull();
  });

  it('rebuilds a symmetric matrix from its eigenvectors', () => {
    const a = [4, 1, -2, 1, 2, 0, -2, 0, 3];
    const { values, vectors } = eigenSymmetric(a, 3);
    expect(values[0] + values[1] + values[2]).toBeCloseTo(9, 12);
    expect(values[0]).toBeLessThan(values[1]);
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++) {
        let sum = 0;
        for (let k = 0; k < 3; k++) sum += vectors[i * 3 + k] * values[k] * vectors[j * 3 + k];
        expect(sum).toBeCloseTo(a[i * 3 + j], 11);
      }
  });
});

import { describe, expect, it } from 'vitest';
import { solveSymmetric } from '../../../core/fit/normal-equations.ts';
import { arena } from '../../../core/tip/kernel/arena.ts';
import { normalSystem, type NormalSystem } from '../../../core/tip/kernel/normal-system.ts';

/** Sizes about multiples of the rows that are worked on side by side. */
const SIZES = [1, 3, 4, 5, 8, 23];

/** A banded positive definite matrix with a dense border, as a fit's: zeros at the beginning of most rows. */
function matrixOf(n: number): Float64Array {
  const a = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      const value = i === j ? 4 + (i % 3) : i - j < 3 || i > n - 4 ? Math.sin(7 * i + j) / n : 0;
      a[i * n + j] = value;
      a[j * n + i] = value;
    }
  return a;
}

/** What `solveSymmetric` gives for the free parameters. */
function plainStep(a: Float64Array, g: Float64Array, free: readonly number[], lambda: number): Float64Array {
  const n = g.length;
  const m = free.length;
  const sub = Float64Array.from({ length: m * m }, (_, k) => {
    const [i, j] = [Math.floor(k / m), k % m];
    const value = a[free[i] * n + free[j]];
    return i === j ? value + (lambda * value + 1e-12) : value;
  });
  const part = solveSymmetric(
    sub,
    free.map((i) => g[i]),
    m,
  )!;
  const step = new Float64Array(n);
  free.forEach((place, i) => (step[place] = part[i]));
  return step;
}

function withSystem(a: Float64Array, n: number, check: (system: NormalSystem) => void): void {
  const own = arena();
  own.inside(() => {
    const system = normalSystem(own, n);
    system.clear();
    system.matrix().set(a);
    check(system);
  });
}

describe('the compiled normal equations', () => {
  it.each(SIZES)('take the very step that plain code takes, of %i parameters', (n) => {
    const a = matrixOf(n);
    const g = Float64Array.from({ length: n }, (_, i) => Math.cos(3 * i));
    const all = Array.from({ length: n }, (_, i) => (i * 5) % n).filter(
      (i, k, list) => list.indexOf(i) === k,
    );
    withSystem(a, n, (system) => {
      for (const free of [all, all.filter((i) => i % 4 !== 1)])
        expect(system.step(g, free, 0.01)).toEqual(plainStep(a, g, free, 0.01));
    });
  });

  it('have no step where the matrix is not positive definite', () => {
    withSystem(Float64Array.of(1, 2, 2, 1), 2, (system) => {
      expect(system.step(Float64Array.of(1, 1), [0, 1], 0)).toBeNull();
    });
  });

  it('promise what the quadratic model gains', () => {
    const a = Float64Array.of(2, 1, 1, 3);
    withSystem(a, 2, (system) => {
      // 2 g.s - s.A.s
      const [x, y] = [0.5, -1];
      const expected = 2 * (4 * x + 5 * y) - (2 * x * x + 2 * x * y + 3 * y * y);
      expect(system.promise(Float64Array.of(4, 5), Float64Array.of(x, y))).toBeCloseTo(expected, 12);
    });
  });
});

import { describe, expect, it } from 'vitest';
import { invertBlock, invertSymmetric } from '../../../core/fit/normal-equations.ts';

/** A reproducible sequence of numbers between -1 and 1 (linear congruential, Numerical Recipes' constants, from memory). */
function sequence(): () => number {
  let state = 12345;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 31 - 1;
  };
}

describe('a block of an inverse', () => {
  it('is that block of the whole inverse', () => {
    const next = sequence();
    const n = 12;
    const root = Float64Array.from({ length: n * n }, next);
    const a = new Float64Array(n * n);
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++)
        for (let k = 0; k < n; k++)
          a[i * n + j] += root[i * n + k] * root[j * n + k] * (1 + 1000 * Number(i === j));
    const whole = invertSymmetric(a, n) as Float64Array;
    const keep = [9, 2, 5];
    const block = invertBlock(a, n, keep) as Float64Array;
    keep.forEach((i, ki) =>
      keep.forEach((j, kj) => expect(block[3 * ki + kj]).toBeCloseTo(whole[i * n + j], 12)),
    );
  });
});

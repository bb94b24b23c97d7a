import { describe, expect, it } from 'vitest';
import { invertBlock, invertSymmetric } from '../../../core/fit/normal-equations.ts';
import { gatherer } from '../../../core/tip/gather.ts';

/** A reproducible sequence of numbers between -1 and 1 (linear congruential, Numerical Recipes' constants, from memory). */
function sequence(): () => number {
  let state = 12345;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 31 - 1;
  };
}

describe('a normal matrix gathered in blocks', () => {
  it('is the one summed pixel by pixel, with zeros and intervals in any order', () => {
    const next = sequence();
    const [head, kinds, knots] = [7, 3, 5];
    const size = head + kinds * knots;
    const gather = gatherer(head, kinds, knots);
    const a = new Float64Array(size * size);
    const plain = new Float64Array(size * size);
    const offset = 3;
    for (let k = 0; k < 517; k++) {
      const index = (k * 7) % (knots - 1);
      const rows = Float64Array.from({ length: offset + head + 2 * kinds }, (_, i) =>
        i === offset + 2 && k % 3 === 0 ? 0 : next(),
      );
      const w = Math.abs(next());
      gather.add(Math.sqrt(w), rows, offset, index);
      const row = new Float64Array(size);
      row.set(rows.subarray(offset, offset + head));
      for (let kind = 0; kind < kinds; kind++)
        for (const end of [0, 1])
          row[head + kind * knots + index + end] = rows[offset + head + 2 * kind + end];
      for (let i = 0; i < size; i++) for (let j = 0; j <= i; j++) plain[i * size + j] += w * row[i] * row[j];
    }
    gather.finish(a);
    for (let i = 0; i < size; i++)
      for (let j = 0; j <= i; j++) expect(a[i * size + j]).toBeCloseTo(plain[i * size + j], 10);
  });
});

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

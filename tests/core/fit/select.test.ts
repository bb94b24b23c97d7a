import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { median, select } from '../../../core/fit/select.ts';

const sortedMedian = (values: readonly number[]): number => {
  const sorted = Float64Array.from(values).sort();
  const n = sorted.length;
  return n % 2 ? sorted[(n - 1) / 2] : (sorted[n / 2 - 1] + sorted[n / 2]) / 2;
};

describe('selection', () => {
  it('finds what a sorted list has at a place, equal numbers and NaN included', () => {
    const number = fc.oneof(fc.double(), fc.integer({ min: -3, max: 3 }));
    fc.assert(
      fc.property(fc.array(number, { minLength: 1, maxLength: 60 }), fc.nat(), (values, place) => {
        const k = place % values.length;
        // a zero's sign is nobody's business
        const plain = values.map((value) => value + 0);
        expect(select(Float64Array.from(plain), k) + 0).toBe(Float64Array.from(plain).sort()[k] + 0);
      }),
    );
  });

  it('takes the middle of an odd list and the mean of the two middle ones of an even one', () => {
    expect(median([3, 1, 2])).toBe(2);
    expect(median([4, 1, 3, 2])).toBe(2.5);
    expect(median([])).toBeNaN();
    const long = Array.from({ length: 10_000 }, (_, i) => ((i * 7919) % 10_007) / 3);
    expect(median(long)).toBe(sortedMedian(long));
    expect(median([...long, NaN])).toBe(sortedMedian([...long, NaN]));
  });
});

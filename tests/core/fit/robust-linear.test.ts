import { describe, expect, it } from 'vitest';
import { reweighted, robustLinear } from '../../../core/fit/robust-linear.ts';

describe('lines by reweighting', () => {
  const x = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9];
  const design = Float64Array.from(x.flatMap((v) => [1, 1000 * v]));

  it('run through what lies on a line, whatever a few others say', () => {
    const v = Float64Array.from(x, (u) => 3 - 2 * u + (u === 2 || u === 7 ? 40 : 0));
    const found = robustLinear(design, v, 2);
    expect(found?.p[0]).toBeCloseTo(3, 1);
    expect(1000 * (found?.p[1] ?? 0)).toBeCloseTo(-2, 1);
    expect(found?.rest[2]).toBeCloseTo(40, 0);
  });

  it('give the covariance of plain least squares when all weigh alike', () => {
    // slope of n = 10 points one apart: 1 / (n (n^2 - 1) / 12); by the textbook's sum of squares about the mean
    const found = reweighted(design, Float64Array.from(x), 2, 1, (rest) => rest.map(() => 1));
    expect((found?.inverse()?.[3] ?? 0) * 1e6).toBeCloseTo(1 / 82.5, 10);
    expect(found?.inverse()?.[0]).toBeCloseTo(1 / 10 + 4.5 ** 2 / 82.5, 10);
  });

  it('are none where the columns depend on each other', () => {
    const same = Float64Array.from(x.flatMap(() => [1, 1]));
    expect(robustLinear(same, Float64Array.from(x), 2)).toBeNull();
  });
});

import { describe, expect, it } from 'vitest';
import {
  chiSquareCdf,
  chiSquareQuantile,
  coverageFactor,
  erfc,
  logGamma,
  normalCdf,
  normalQuantile,
  studentTCdf,
  studentTQuantile,
} from '../../../core/uncertainty/index.ts';

describe('special functions', () => {
  it('knows the gamma function at places with closed forms', () => {
    expect(logGamma(0.5)).toBeCloseTo(Math.log(Math.sqrt(Math.PI)), 12);
    expect(logGamma(11)).toBeCloseTo(Math.log(3628800), 11);
  });

  it('keeps the error function accurate in the far tail', () => {
    // Abramowitz & Stegun table 7.1 and 7.3: erf(0.5), erfc(2); erfc(10) from the asymptotic series.
    expect(1 - erfc(0.5)).toBeCloseTo(0.5204998778, 10);
    expect(erfc(2)).toBeCloseTo(0.004677734981, 12);
    expect(erfc(10) / 2.088487583762545e-45).toBeCloseTo(1, 10);
    expect(erfc(-1)).toBeCloseTo(1.842700792949715, 12);
  });
});

describe('normal distribution', () => {
  it.each([
    [0.975, 1.959963984540054],
    [0.95, 1.6448536269514722],
    [0.9995, 3.290526731491926],
    [1e-12, -7.034483825301132],
    [0.5, 0],
  ])('quantile of %d', (p, z) => expect(normalQuantile(p)).toBeCloseTo(z, 9));

  it('gives back what it was asked', () => {
    for (const z of [-8, -3.3, -1, -0.01, 0, 0.3, 2, 4.5])
      expect(normalQuantile(normalCdf(z))).toBeCloseTo(z, 7);
  });
});

describe("Student's t", () => {
  // JCGM 100:2008 table G.2, columns 95, 95.45, 99 and 99.73 %: two decimals, so half a unit of the last is 0.005.
  it.each([
    [1, 12.71, 13.97, 63.66, 235.8],
    [2, 4.3, 4.53, 9.92, 19.21],
    [4, 2.78, 2.87, 4.6, 6.62],
    [10, 2.23, 2.28, 3.17, 3.96],
    [16, 2.12, 2.17, 2.92, 3.54],
    [50, 2.01, 2.05, 2.68, 3.16],
    [Infinity, 1.96, 2.0, 2.576, 3.0],
  ])('table G.2 of the GUM, %d degrees of freedom', (dof, p95, p9545, p99, p9973) => {
    expect(coverageFactor(dof, 0.95)).toBeCloseTo(p95, 1.9);
    expect(Math.abs(coverageFactor(dof) - p9545)).toBeLessThanOrEqual(0.00501);
    expect(Math.abs(coverageFactor(dof, 0.99) - p99)).toBeLessThanOrEqual(0.00501);
    // One decimal only at one degree of freedom, and the header says 99.73, not 99.7300.
    expect(Math.abs(coverageFactor(dof, 0.9973) / p9973 - 1)).toBeLessThanOrEqual(0.002);
  });

  it('has closed forms at one and two degrees of freedom', () => {
    // t = tan(pi (p - 1/2)) and t = (2p-1)/sqrt(2p(1-p)).
    expect(studentTQuantile(0.999, 1)).toBeCloseTo(Math.tan(Math.PI * 0.499), 7);
    expect(studentTQuantile(0.9, 2)).toBeCloseTo(0.8 / Math.sqrt(1.8 * 0.1), 10);
    expect(studentTQuantile(0.1, 2)).toBeCloseTo(-0.8 / Math.sqrt(1.8 * 0.1), 10);
  });

  it('inverts itself at fractional degrees of freedom', () => {
    for (const dof of [0.7, 1.5, 3.3, 17.9, 1234.5])
      for (const p of [0.001, 0.2, 0.6, 0.97725])
        expect(studentTCdf(studentTQuantile(p, dof), dof)).toBeCloseTo(p, 11);
  });

  it('names the parameter when it is misused', () => {
    expect(() => studentTQuantile(1.2, 5)).toThrow(/probability between 0 and 1/);
    expect(() => coverageFactor(0)).toThrow(/degrees of freedom/);
  });
});

describe('chi-square', () => {
  // Any statistics table: 0.95 quantiles 3.841, 11.070, 124.342 (1, 5, 100 degrees of freedom).
  it.each([
    [1, 3.841459],
    [5, 11.0705],
    [100, 124.3421],
  ])('0.95 quantile at %d', (dof, x) => {
    expect(chiSquareQuantile(0.95, dof)).toBeCloseTo(x, 4);
    expect(chiSquareCdf(x, dof)).toBeCloseTo(0.95, 5);
  });

  it('is an exponential at two degrees of freedom', () => {
    expect(chiSquareCdf(3, 2)).toBeCloseTo(1 - Math.exp(-1.5), 13);
  });
});

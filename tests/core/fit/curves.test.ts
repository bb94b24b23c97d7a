import { describe, expect, it } from 'vitest';
import { fitCircle } from '../../../core/fit/circle.ts';
import { fitEllipse } from '../../../core/fit/ellipse.ts';
import { fitLineOrthogonal, fitLineYork, lineAt, fitLine } from '../../../core/fit/line.ts';
import { gaussians } from './gaussians.ts';

describe('circle', () => {
  it('recovers a circle without noise from a 60 degree arc, far from the origin', () => {
    const t = Array.from({ length: 30 }, (_, i) => (i * Math.PI) / 3 / 29 + 0.4);
    const fit = fitCircle(
      t.map((a) => 1000 + 18 * Math.cos(a)),
      t.map((a) => -700 + 18 * Math.sin(a)),
    )!;
    expect(fit.converged).toBe(true);
    expect(fit.x).toBeCloseTo(1000, 7);
    expect(fit.y).toBeCloseTo(-700, 7);
    expect(fit.radius).toBeCloseTo(18, 7);
    expect(fit.arcDeg).toBeCloseTo(60, 6);
  });

  it.each([
    // u(R) sqrt(N)/sigma for an arc, Chan & Thomas 1995 (bound), computed.
    [90, 10.3],
    [60, 23.8],
    [45, 42.8],
  ])(
    'states the uncertainty that theory allows for an arc of %d degrees: %d sigma/sqrt(N)',
    (arc, factor) => {
      const n = 400;
      const t = Array.from({ length: n }, (_, i) => (((i + 0.5) / n - 0.5) * arc * Math.PI) / 180);
      const fit = fitCircle(
        t.map((a) => 18 * Math.cos(a)),
        t.map((a) => 18 * Math.sin(a)),
        0.1,
      )!;
      // The table has three figures; half a unit of the last is 0.5 %.
      expect((fit.radiusStandard * Math.sqrt(n)) / 0.1 / factor).toBeCloseTo(1, 1.9);
    },
  );

  it('covers the true radius as often as its uncertainty says', () => {
    const normal = gaussians(11);
    let inside = 0;
    let sum = 0;
    const trials = 400;
    for (let k = 0; k < trials; k++) {
      const t = Array.from({ length: 80 }, (_, i) => (i / 79 - 0.5) * (Math.PI / 2));
      const r = t.map(() => 18 + 0.1 * normal());
      const fit = fitCircle(
        t.map((a, i) => r[i] * Math.cos(a)),
        t.map((a, i) => r[i] * Math.sin(a)),
      )!;
      sum += fit.radius - 18;
      if (Math.abs(fit.radius - 18) <= 2 * fit.radiusStandard) inside++;
    }
    // 95.4 % of 400: binomial standard deviation 1.05 %, so three of them either way.
    expect(inside / trials).toBeGreaterThan(0.92);
    expect(inside / trials).toBeLessThan(0.99);
    // u(R) is 10.3 x 0.1 / sqrt(80) = 0.115; the mean of 400 within four of its own deviations.
    expect(Math.abs(sum / trials)).toBeLessThan((4 * 0.115) / Math.sqrt(trials));
  });

  it('has no answer for points on a line or too few', () => {
    expect(fitCircle([0, 1, 2, 3], [0, 1, 2, 3])).toBeNull();
    expect(fitCircle([0, 1, 2], [0, 1, 0])).toBeNull();
  });
});

describe('ellipse', () => {
  it.each([0, 0.3, 1.2, 1.57, -0.9])('recovers an ellipse turned by %d rad', (angle) => {
    const t = Array.from({ length: 24 }, (_, i) => (i * Math.PI) / 12);
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    const fit = fitEllipse(
      t.map((a) => 5 + 20 * c * Math.cos(a) - 9 * s * Math.sin(a)),
      t.map((a) => -3 + 20 * s * Math.cos(a) + 9 * c * Math.sin(a)),
    )!;
    expect(fit.x).toBeCloseTo(5, 6);
    expect(fit.y).toBeCloseTo(-3, 6);
    expect(fit.a).toBeCloseTo(20, 6);
    expect(fit.b).toBeCloseTo(9, 6);
    expect(Math.sin(fit.angle - angle)).toBeCloseTo(0, 6);
  });
});

describe('lines', () => {
  it('without a preferred axis finds every direction, also straight up', () => {
    for (const deg of [-89, -45, 0, 30, 90]) {
      const a = (deg * Math.PI) / 180;
      const s = Array.from({ length: 20 }, (_, i) => i - 7);
      const fit = fitLineOrthogonal(
        s.map((v) => 3 + v * Math.cos(a)),
        s.map((v) => 8 + v * Math.sin(a)),
      )!;
      expect(Math.sin(fit.direction - a)).toBeCloseTo(0, 9);
      expect(fit.residualStandard).toBeLessThan(1e-6);
    }
    expect(fitLineOrthogonal([1, 1, 1], [2, 2, 2])).toBeNull();
  });

  it('with errors in one variable only the York fit is the weighted fit', () => {
    const x = [0, 1, 2, 3, 5];
    const y = [0.1, 1.9, 4.2, 5.8, 10.1];
    const uy = [0.1, 0.2, 0.1, 0.3, 0.2];
    const york = fitLineYork(x, y, [0, 0, 0, 0, 0], uy)!;
    const plain = fitLine(
      x,
      y,
      uy.map((u) => 1 / u ** 2),
    )!;
    expect(york.slope).toBeCloseTo(plain.slope, 10);
    expect(york.intercept).toBeCloseTo(plain.intercept, 10);
    expect(york.slopeStandard).toBeCloseTo(plain.slopeStandard / plain.residualStandard, 10);
    expect(lineAt(plain, 2).standard).toBeLessThan(lineAt(plain, 50).standard);
  });
});

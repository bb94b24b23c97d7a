import { describe, expect, it } from 'vitest';
import {
  axesOf,
  boundaryOf,
  depthOfWidth,
  flatWidth,
  lostArea,
  outlineAt,
  wedgeOf,
} from '../../../core/tip/wedge.ts';
import { normalCdf } from '../../../core/uncertainty/index.ts';
import { edgeModel, EDGE_SIZE } from '../../../core/tip/blurred-edge.ts';
import { edgeWidth } from '../../../core/tip/sharpness.ts';

const degree = Math.PI / 180;
const round = (radius: number, half = 26): number[] => [radius, 0, half * degree, half * degree, 0, 0, 0, 0];

describe('flats on a round tip (elementary geometry; check values: computed)', () => {
  // R 15, w 8: d = 15 - sqrt(225 - 16) = 0.543; R 18, w 10: 18 - sqrt(324 - 25) = 0.708
  it.each([
    [15, 8, 0.543],
    [18, 10, 0.708],
  ])('R %d um, flat %d um is %d um deep', (radius, width, depth) => {
    expect(depthOfWidth(wedgeOf(round(radius)), 'right', width)).toBeCloseTo(depth, 3);
    expect(flatWidth(wedgeOf(round(radius)), 'left', depth)).toBeCloseTo(width, 1);
  });

  it('loses the circle segment R^2 (t - sin t)/2 while both ends lie on the arc', () => {
    const t = 2 * Math.asin(8 / 30);
    const w = wedgeOf(round(15));
    expect(lostArea(w, 'right', depthOfWidth(w, 'right', 8))).toBeCloseTo((225 * (t - Math.sin(t))) / 2, 1);
  });

  it('follows the plane to the flank once asin(w/2R) exceeds 45 degrees less the half angle', () => {
    // R 18, half 26: the outer end leaves the arc at w = 36 sin 19 deg = 11.72 um
    const w = wedgeOf(round(18));
    const depth = 1.6;
    const onCircle = 2 * Math.sqrt(18 ** 2 - (18 - depth) ** 2);
    expect(onCircle).toBeGreaterThan(11.72);
    // plane n.p = R - d with n at 45 deg, flank m.p = R with m at 26 deg: t = (R - (R-d) cos 19)/(-sin 19)
    const outer = (18 - (18 - depth) * Math.cos(19 * degree)) / Math.sin(19 * degree);
    expect(flatWidth(w, 'right', depth)).toBeCloseTo(onCircle / 2 + outer, 6);
  });

  it('has its outline continuous from arc to flank', () => {
    const w = wedgeOf([20, 0.1, 24 * degree, 27 * degree, 0, 0, 0, 0]);
    const axes = axesOf(w);
    for (const side of [-1, 1]) {
      const half = side < 0 ? w.halfLeft : w.halfRight;
      const s = side * 20 * (Math.PI / 2 - half);
      const a = outlineAt(w, axes, s * 0.9999);
      const b = outlineAt(w, axes, s * 1.0001);
      // an ellipse of 10 % is parametrised by its polar angle; the joint may jump by up to 1 um along the flank
      expect(Math.abs((a.x - b.x) * b.nx + (a.y - b.y) * b.ny)).toBeLessThan(0.05);
    }
  });
});

describe('blurred edge', () => {
  it('has a 10-90 % width of 2.5631 sigma (ISO 12233 method; mathematics)', () => {
    expect(edgeWidth(1.6, 0)).toBeCloseTo(2.5631 * 1.6, 3);
  });

  it('agrees with a plain two-dimensional sum over the silhouette', () => {
    const shape = [18, 0.05, 25 * degree, 27 * degree, 0.02, -0.01, 0.4, 0.9];
    const sigma = 1.7;
    const edge = edgeModel(shape, sigma, 0);
    const out = new Float64Array(EDGE_SIZE);
    for (const [x, y] of [
      [0, 18.2],
      [11.5, 12.2],
      [-12, 12.5],
      [16, 7],
      [-40, -40],
    ]) {
      edge.evaluate(x, y, out);
      expect(out[0]).toBeCloseTo(bruteForce(shape, x, y, sigma), 2);
    }
  });

  it('agrees with a sum of a hundred times as many nodes, wherever the corners fall between its own', () => {
    const errors: number[] = [];
    for (const half of [22, 26, 32])
      for (const sigma of [1, 1.7, 2.6])
        for (let i = 0; i < 12; i++) {
          const shape = [
            18,
            0.05,
            half * degree,
            (half + 1) * degree,
            0.02,
            -0.01,
            0.05 + 0.11 * i,
            0.9 - 0.05 * i,
          ];
          const angle = (15 + ((i * 7) % 12) * 12.5) * degree;
          const r = 17.5 + ((i % 5) - 2) * 0.8 * sigma;
          const [x, y] = [r * Math.cos(angle), r * Math.sin(angle)];
          const out = new Float64Array(EDGE_SIZE);
          edgeModel(shape, sigma, 0.3).evaluate(x, y, out);
          expect(edgeModel(shape, sigma, 0.3, false).value(x, y)).toBeCloseTo(out[0], 12);
          const line = boundaryOf(wedgeOf(shape));
          const fine = 1.3 * fineSum(line, x, y, sigma) - 0.3 * fineSum(line, x, y, 1.6 * sigma);
          errors.push(out[0] - fine);
        }
    expect(Math.sqrt(errors.reduce((s, e) => s + e * e, 0) / errors.length)).toBeLessThan(2e-4);
    expect(Math.max(...errors.map(Math.abs))).toBeLessThan(1e-3);
  });

  it('has derivatives that agree with differences', () => {
    const shape = [18, 0.05, 25 * degree, 27 * degree, 0.02, -0.01, 0.4, 0.9];
    const at = (p: number[], x: number, y: number, s: number): number => {
      const out = new Float64Array(EDGE_SIZE);
      edgeModel(p, s, 0.3).evaluate(x, y, out);
      return out[0];
    };
    const out = new Float64Array(EDGE_SIZE);
    for (const [x, y] of [
      [11.5, 12.2],
      [-11, 13.5],
      [3, 18.5],
    ]) {
      edgeModel(shape, 1.7, 0.3).evaluate(x, y, out);
      const h = 1e-3;
      expect(out[1]).toBeCloseTo((at(shape, x + h, y, 1.7) - at(shape, x - h, y, 1.7)) / (2 * h), 2);
      expect(out[2]).toBeCloseTo((at(shape, x, y + h, 1.7) - at(shape, x, y - h, 1.7)) / (2 * h), 2);
      for (const k of [0, 6, 7]) {
        const up = shape.map((v, i) => v + (i === k ? h : 0));
        const down = shape.map((v, i) => v - (i === k ? h : 0));
        expect(out[5 + k]).toBeCloseTo((at(up, x, y, 1.7) - at(down, x, y, 1.7)) / (2 * h), 2);
      }
    }
  });
});

/** The blur's integral by brute force: nodes every 0.004 sigma, the normal distribution from the statistics module. */
function fineSum(line: (x: number) => number, x0: number, y0: number, sigma: number): number {
  let sum = 0;
  let total = 0;
  for (let u = -6.5; u <= 6.5; u += 0.004) {
    const g = Math.exp((-u * u) / 2);
    total += g;
    sum += g * normalCdf((line(x0 + u * sigma) - y0) / sigma);
  }
  return sum / total;
}

/** Sum of a Gaussian over the wedge, sampled at 0.1 um; inside is decided by the constraints one by one. */
function bruteForce(p: number[], x0: number, y0: number, sigma: number): number {
  const w = wedgeOf(p);
  const { a, b } = axesOf(w);
  const inside = (x: number, y: number): boolean => {
    for (const side of [-1, 1]) {
      const half = side < 0 ? w.halfLeft : w.halfRight;
      const h = Math.hypot(a * Math.cos(half), b * Math.sin(half));
      if (side * x * Math.cos(half) + y * Math.sin(half) > h) return false;
      const tangentX = (a * a * Math.cos(half)) / h;
      const tangentY = (b * b * Math.sin(half)) / h;
      if (side * x > 0 && side * x <= tangentX && y > tangentY && (x / a) ** 2 + (y / b) ** 2 > 1)
        return false;
      const angle = Math.PI / 4 + (side < 0 ? w.wallLeft : w.wallRight);
      const depth = side < 0 ? w.depthLeft : w.depthRight;
      const n = Math.hypot(a * Math.cos(angle), b * Math.sin(angle)) - depth;
      if (side * x * Math.cos(angle) + y * Math.sin(angle) > n) return false;
    }
    return true;
  };
  let sum = 0;
  let total = 0;
  const step = 0.1;
  for (let u = -4 * sigma; u <= 4 * sigma; u += step)
    for (let v = -4 * sigma; v <= 4 * sigma; v += step) {
      const g = Math.exp(-(u * u + v * v) / (2 * sigma * sigma));
      total += g;
      if (inside(x0 + u, y0 + v)) sum += g;
    }
  return sum / total;
}

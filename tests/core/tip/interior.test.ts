import { describe, expect, it } from 'vitest';
import { INTERIOR, pointModel, type CaptureModel } from '../../../core/tip/capture-model.ts';
import { depthProfiles, HUMP, PROFILE_SIZE, RAMP, RIM } from '../../../core/tip/interior.ts';
import { wedgeOf, wornPlacer } from '../../../core/tip/wedge.ts';

/** The same blur by brute force: a sum over the point spread function, no closed form. */
function blurred(profile: (z: number) => number, z: number, sigma: number, weight: number): number {
  const gauss = (x: number, s: number): number =>
    Math.exp((-x * x) / (2 * s * s)) / (s * Math.sqrt(2 * Math.PI));
  let sum = 0;
  const h = 0.002;
  for (let x = -12; x <= 12; x += h)
    sum += h * profile(z - x) * ((1 + weight) * gauss(x, sigma) - weight * gauss(x, 1.6 * sigma));
  return sum;
}

describe('depth profiles of the inside', () => {
  const D = 6;
  const ramp = (z: number, e: number): number => (z > 0 ? Math.min(1, (z + e) / D) : 0);
  const hump = (z: number, e: number): number => 4 * ramp(z, e) * (1 - ramp(z, e));
  const rim = (z: number, e: number): number => Math.sqrt(ramp(z, e));
  it('are the blurred ramp, hump and rim, whole or with their beginning cut off', () => {
    const out = new Float64Array(PROFILE_SIZE);
    for (const e of [0, 0.8, 3.5])
      for (const z of [-3, -1, 0, 0.7, 2.5, 5.5, 7, 9]) {
        depthProfiles(1.4, 0.3, D)(z, e, out);
        // the sum's own step is 0.002 um: a cut beginning falls between two of its places
        expect(Math.abs(out[RAMP] - blurred((t) => ramp(t, e), z, 1.4, 0.3))).toBeLessThan(5e-4);
        expect(Math.abs(out[HUMP] - blurred((t) => hump(t, e), z, 1.4, 0.3))).toBeLessThan(5e-4);
        // the rim is drawn in straight pieces
        expect(Math.abs(out[RIM] - blurred((t) => rim(t, e), z, 1.4, 0.3))).toBeLessThan(0.02);
      }
  });
  it('come with the slopes of themselves', () => {
    const at = (z: number, sigma: number, weight: number, e = 0.9): Float64Array => {
      const out = new Float64Array(PROFILE_SIZE);
      depthProfiles(sigma, weight, D)(z, e, out);
      return out;
    };
    const h = 1e-3;
    for (const z of [-1.5, 0.2, 3, 6.5])
      for (const i of [RAMP, HUMP, RIM]) {
        const here = at(z, 1.5, 0.2);
        expect(here[i + 1]).toBeCloseTo((at(z + h, 1.5, 0.2)[i] - at(z - h, 1.5, 0.2)[i]) / (2 * h), 4);
        expect(here[i + 2]).toBeCloseTo((at(z, 1.5 + h, 0.2)[i] - at(z, 1.5 - h, 0.2)[i]) / (2 * h), 4);
        expect(here[i + 3]).toBeCloseTo((at(z, 1.5, 0.2 + h)[i] - at(z, 1.5, 0.2 - h)[i]) / (2 * h), 4);
        expect(here[i + 4]).toBeCloseTo(
          (at(z, 1.5, 0.2, 0.9 + h)[i] - at(z, 1.5, 0.2, 0.9 - h)[i]) / (2 * h),
          4,
        );
      }
  });
});

describe('place below the worn outline', () => {
  it('comes with the slopes of its distance by every parameter of the shape', () => {
    const shape = [18, 0.06, 0.45, 0.42, 0.05, -0.04, 0.7, 1.1];
    const h = 1e-5;
    for (const [x, y] of [
      [0, 15],
      [11, 12.2],
      [-10.8, 12],
      [25, -12],
      [-27, -16],
    ]) {
      const dt = Array.from(wornPlacer(wedgeOf(shape))(x, y).dt);
      for (let i = 0; i < 8; i++) {
        const moved = (d: number): number =>
          wornPlacer(wedgeOf(shape.map((v, k) => (k === i ? v + d : v))))(x, y).t;
        // on the arc the ellipse counts as a circle of its local radius, hence the loose bound
        expect(Math.abs(dt[i] - (moved(h) - moved(-h)) / (2 * h))).toBeLessThan(
          0.03 * Math.max(1, Math.abs(dt[i])),
        );
      }
    }
  });
});

describe('grey values of the model', () => {
  const knots = Float64Array.from({ length: 9 }, (_, i) => -60 + 15 * i);
  const size = INTERIOR + 4 * knots.length;
  const model = { umPerPx: 1, knots, depth: 6, size, humps: true, length: 60 } as unknown as CaptureModel;
  // pose 0: the tip frame is the picture's
  const p = Float64Array.from({ length: size }, (_, i) =>
    i < INTERIOR
      ? [18, 0.04, 0.45, 0.43, 0.03, -0.02, 0.6, 0.9, 0, 0, 0, 1.5, 0.2, 0.15, 0, 0.01, 0.02, -0.01, 0.4][i]
      : [0.3, 0.12, 0.05, 0.07][Math.floor((i - INTERIOR) / knots.length)],
  );
  it('come with the slopes by pose, optics and shape', () => {
    const loose = new Set([10, 14]);
    for (const [x, y] of [
      [1, 18.5],
      [12.6, 11.8],
      [-12.2, 12.4],
      [22, -2],
      [-24, -6],
    ]) {
      const whole = pointModel(model, p)(x, y, 0.1);
      const d = Array.from(whole.d);
      const alone = pointModel(model, p, false)(x, y, 0.1);
      expect(alone.grey).toBeCloseTo(whole.grey, 12);
      expect(alone.t).toBeCloseTo(whole.t, 12);
      for (let i = 0; i < INTERIOR; i++) {
        const h = 1e-4;
        const grey = (step: number): number => {
          const q = p.slice();
          q[i] += step;
          const [c, s, zoom] = [Math.cos(q[10]), Math.sin(q[10]), 1 + q[14]];
          const [dx, dy] = [x - q[8], y - q[9]];
          return pointModel(model, q)(zoom * (c * dx - s * dy), zoom * (s * dx + c * dy), 0.1).grey;
        };
        const numeric = (grey(h) - grey(-h)) / (2 * h);
        const most = loose.has(i) ? 0.06 : 0.02;
        expect(Math.abs(d[i] - numeric), `parameter ${i} at ${x}, ${y}`).toBeLessThan(
          // on the arc the ellipse counts as a circle of its local radius: an inside that rises steeply feels it
          Math.max(0.015, most * Math.abs(numeric)),
        );
      }
    }
  });
});

import { describe, expect, it } from 'vitest';
import { fitEdgeProfile } from '../../../core/cantilever/edge-profile.ts';
import { leastSquares } from '../../../core/fit/linear-algebra.ts';
import { normalCdf } from '../../../core/uncertainty/index.ts';
import { gaussians, uniforms } from '../fit/gaussians.ts';

const pixels = Float64Array.from({ length: 24 }, (_, i) => i - 11);
const edge = (place: number, sigma: number, shade = 0): Float64Array =>
  pixels.map((t) => {
    const z = (t - place) / sigma;
    const p = Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
    return 0.2 + 0.5 * normalCdf(z) + shade * sigma * (z * normalCdf(z) + p);
  });

describe('one blurred edge', () => {
  it.each([-0.5, -0.21, 0, 0.37, 0.5])('finds a clean edge at %d px', (place) => {
    const fit = fitEdgeProfile(pixels, edge(place, 1.5), 1, 1.2, true)!;
    // The integral comes from a table, exact to 8e-6 of the step: 8e-6 x 1.5 x sqrt(2 pi) px.
    expect(Math.abs(fit.edge - place)).toBeLessThan(1e-4);
    expect(fit.sigma).toBeCloseTo(1.5, 3);
    expect(fit.inside - fit.outside).toBeCloseTo(0.5, 3);
  });

  it('is not drawn inwards by an inside that shades', () => {
    // 0.02 a pixel on a step of 0.5 would move a plain step by shade sigma^2/step = 0.09 px.
    const fit = fitEdgeProfile(pixels, edge(0.2, 1.5, 0.02), 0, 1.5, false)!;
    expect(Math.abs(fit.edge - 0.2)).toBeLessThan(1e-4);
  });

  it('comes up to the bound for sigma 1.5 px and noise 0.05 of the step, and states what it reaches', () => {
    // Everything but the position known: noise / sqrt(sum of slope^2) = 0.1153 px (Gatherer, Stanford CSL-TR-93-560,
    // bound read, value computed). Both levels and the shade free as well, as here: more.
    const slope = pixels.map((t) => Math.exp(-0.5 * (t / 1.5) ** 2) / (1.5 * Math.sqrt(2 * Math.PI)));
    expect(0.05 / Math.sqrt(slope.reduce((sum, g) => sum + g * g, 0))).toBeCloseTo(0.1153, 4);
    const rows = Array.from(pixels).flatMap((t, i) => {
      const cdf = normalCdf(t / 1.5);
      return [slope[i], 1 - cdf, cdf, t * cdf + 1.5 * 1.5 * slope[i]];
    });
    const free = leastSquares(rows, new Float64Array(pixels.length), pixels.length, 4)!;
    const bound = 0.05 * Math.sqrt(free.inverseNormal[0]);
    const normal = gaussians(3);
    const place = uniforms(4);
    let squares = 0;
    let stated = 0;
    const trials = 1500;
    for (let k = 0; k < trials; k++) {
      const at = place() - 0.5;
      const noisy = edge(at, 1.5).map((v) => v + 0.025 * normal());
      const fit = fitEdgeProfile(pixels, noisy, 0, 1.5, false)!;
      squares += (fit.edge - at) ** 2;
      stated += fit.standard ** 2;
    }
    // Counting 1500 trials leaves 1/sqrt(2 x 1500) = 1.8 %, four of them 7 %; the bound holds for small noise only.
    expect(Math.sqrt(squares / trials) / bound).toBeGreaterThan(0.93);
    expect(Math.sqrt(squares / trials) / bound).toBeLessThan(1.1);
    expect(Math.sqrt(stated / squares)).toBeGreaterThan(0.9);
    expect(Math.sqrt(stated / squares)).toBeLessThan(1.1);
  });

  it('has no answer where there is no edge', () => {
    const normal = gaussians(5);
    const steps = Array.from({ length: 50 }, () =>
      fitEdgeProfile(
        pixels,
        pixels.map(() => 0.4 + 0.02 * normal()),
        0,
        1.5,
        false,
      ),
    ).map((fit) => (fit ? Math.abs(fit.inside - fit.outside) / fit.residual : 0));
    // The measuring part asks for four residuals; noise alone hardly ever gives that much.
    expect(steps.filter((step) => step > 4).length).toBeLessThan(5);
  });
});

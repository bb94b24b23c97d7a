import { describe, expect, it } from 'vitest';
import { comparePair, examineCapture } from '../../../core/index.ts';
import { reflectance, shiftOf } from '../../../core/tip/wide-light.ts';
import { randomFrontVaried, type VariedFrontOptions } from '../../../fixtures/render/front-varied.ts';

const control = { progress: () => undefined, check: () => undefined, now: () => performance.now() };
const N = 2.417;

describe('light that the rim mirrors', () => {
  it('goes by Fresnel: 17.2 % straight on, all of it at grazing, one part in two at the polarising angle', () => {
    // ((n - 1) / (n + 1))^2 (from memory, as in any optics textbook); Brewster's law tan(angle of incidence) = n
    expect(reflectance(Math.PI / 2)).toBeCloseTo(((N - 1) / (N + 1)) ** 2, 12);
    expect(reflectance(0)).toBeCloseTo(1, 12);
    const across = ((N * N - 1) / (N * N + 1)) ** 2;
    expect(reflectance(Math.PI / 2 - Math.atan(N))).toBeCloseTo(across / 2, 12);
  });

  it('shifts the edge by the integral of what is mirrored', () => {
    // by the trapezium rule over the depth instead of the angle, for a radius of curvature of 1
    const grazing = 0.3;
    const deepest = grazing ** 2 / 2;
    const n = 200_000;
    const at = (i: number): number => reflectance(Math.sqrt((2 * deepest * i) / n));
    let sum = (at(0) + at(n)) / 2;
    for (let i = 1; i < n; i++) sum += at(i);
    expect(shiftOf(grazing)).toBeCloseTo((sum * deepest) / n, 4);
    expect(shiftOf(0)).toBe(0);
  });
});

const compared = async (seed: number, options: VariedFrontOptions) => {
  const { baseline, later } = randomFrontVaried(seed, {
    largestRadiusUm: 25,
    blurSigmaUm: [1, 2],
    umPerPx: [0.5, 1.3],
    ...options,
  });
  const scaleOf = (picture: typeof baseline) => ({ umPerPx: picture.truth.umPerPx, standardUmPerPx: null });
  const scales = { baselineScale: scaleOf(baseline), laterScale: scaleOf(later) };
  const report = await comparePair({ view: 'front', baseline, later, ...scales }, control);
  if (!report.ok) throw new Error(report.reason.message);
  return { report, later, scale: scales.laterScale };
};
const codes = ({ warnings }: { warnings: readonly { code: string }[] }) => warnings.map(({ code }) => code);
const lightLine = (budget: readonly { source: string; standard: number }[] | undefined) =>
  budget?.find(({ source }) => source === 'light behind the part');

describe('a backlight that is far too wide', () => {
  it.each([2001, 2003, 2004, 2009])('is seen, said and allowed for (seed %i)', async (seed) => {
    const { report, later, scale } = await compared(seed, { light: 'wide', laterFlatsUm: [8, 17] });
    expect(codes(report)).toContain('wide-backlight');
    for (const side of ['left', 'right'] as const) {
      const flat = report.flats[side];
      const truth = later.truth.flats[side].widthUm;
      expect(lightLine(flat.budget)!.standard).toBeGreaterThan(0.1);
      expect(Math.abs(flat.laterUm.value - truth)).toBeLessThan(flat.laterUm.expanded + 0.5);
    }
    const single = await examineCapture({ view: 'front', picture: later, scale }, control);
    expect(single.ok && codes(single)).toContain('wide-backlight');
  });

  it.each([2001, 2003, 2009, 2016])('is not seen where the light is narrow (seed %i)', async (seed) => {
    const { report } = await compared(seed, { light: 'backlit', laterFlatsUm: [8, 17] });
    expect(codes(report)).not.toContain('wide-backlight');
    for (const side of ['left', 'right'] as const)
      for (const budget of [report.flats[side].budget, report.flats[side].baselineBudget]) {
        const { standard } = lightLine(budget)!;
        expect(standard).toBeGreaterThan(0.02);
        expect(standard).toBeLessThan(0.4);
      }
  });
});

import { describe, expect, it } from 'vitest';
import { fitCircle } from '../../core/fit/circle.ts';
import { fitEllipse } from '../../core/fit/ellipse.ts';
import { fitLine, fitLineYork, fitPolynomial, lineAt } from '../../core/fit/line.ts';
import { combineBudget, propagate } from '../../core/uncertainty/index.ts';
import { norris, pontius } from './data/nist.ts';
import { gander, gum, pearsonYork, stageMicrometer } from './data/published.ts';

/** Number of correct digits, as NIST counts them. */
const digits = (value: number, certified: number) => -Math.log10(Math.abs(value / certified - 1) + 1e-16);

describe('NIST StRD', () => {
  it('Norris: certified line to 10 digits', () => {
    const fit = fitLine(norris.x, norris.y)!;
    expect(digits(fit.intercept, norris.coefficients[0])).toBeGreaterThan(10);
    expect(digits(fit.slope, norris.coefficients[1])).toBeGreaterThan(10);
    expect(digits(fit.interceptStandard, norris.deviations[0])).toBeGreaterThan(10);
    expect(digits(fit.slopeStandard, norris.deviations[1])).toBeGreaterThan(10);
    expect(digits(fit.residualStandard, norris.residualStandard)).toBeGreaterThan(10);
  });

  it('Pontius: certified parabola with x up to three million, to 9 digits', () => {
    const fit = fitPolynomial(pontius.x, pontius.y, 2)!;
    pontius.coefficients.forEach((c, i) => expect(digits(fit.coefficients[i], c)).toBeGreaterThan(9));
    pontius.deviations.forEach((d, i) =>
      expect(digits(Math.sqrt(fit.covariance[i * 4]), d)).toBeGreaterThan(9),
    );
    expect(digits(fit.residualStandard, pontius.residualStandard)).toBeGreaterThan(9);
  });
});

describe('Gander, Golub & Strebel 1994', () => {
  // The paper prints four decimals: half of the last one.
  it('geometric circle', () => {
    const fit = fitCircle(gander.circle.x, gander.circle.y)!;
    expect(fit.x).toBeCloseTo(gander.circle.centre[0], 4);
    expect(fit.y).toBeCloseTo(gander.circle.centre[1], 4);
    expect(fit.radius).toBeCloseTo(gander.circle.radius, 4);
  });

  it('geometric ellipse', () => {
    const fit = fitEllipse(gander.ellipse.x, gander.ellipse.y)!;
    expect(fit.x).toBeCloseTo(gander.ellipse.centre[0], 4);
    expect(fit.y).toBeCloseTo(gander.ellipse.centre[1], 4);
    expect(fit.a).toBeCloseTo(gander.ellipse.a, 4);
    expect(fit.b).toBeCloseTo(gander.ellipse.b, 4);
    expect(fit.angle).toBeCloseTo(gander.ellipse.angle, 4);
  });
});

describe('errors in both variables', () => {
  it("Pearson's points with York's weights", () => {
    const fit = fitLineYork(
      pearsonYork.x,
      pearsonYork.y,
      pearsonYork.weightX.map((w) => 1 / Math.sqrt(w)),
      pearsonYork.weightY.map((w) => 1 / Math.sqrt(w)),
    )!;
    expect(fit.slope).toBeCloseTo(pearsonYork.slope, 8);
    expect(fit.intercept).toBeCloseTo(pearsonYork.intercept, 7);
    expect(fit.reducedChiSquare).toBeCloseTo(pearsonYork.reducedChiSquare, 3);
  });
});

describe('JCGM 100:2008, annex H', () => {
  it('H.1: end gauge, 32 nm, 16 degrees of freedom, U99 = 93 nm', () => {
    const sum = combineBudget(
      gum.h1.lines.map((line) => ({ ...line, type: 'B' as const })),
      0.99,
    );
    // The GUM rounds u to 32 and cuts the dof to 16 before multiplying: 2.92 x 32 = 93.
    expect(Math.round(sum.standard)).toBe(gum.h1.standardNm);
    expect(Math.floor(sum.degreesOfFreedom)).toBe(gum.h1.degreesOfFreedom);
    expect(Math.abs(sum.expanded - gum.h1.expanded99Nm)).toBeLessThan(1.5);
  });

  it('H.2: correlated readings of voltage, current and phase', () => {
    const { volt, ampere, phase } = gum.h2;
    const quantities = [volt, ampere, phase];
    const mean = quantities.map((q) => q.reduce((a, b) => a + b, 0) / q.length);
    const covariance = quantities.flatMap((p, i) =>
      quantities.map((q, j) => p.reduce((sum, v, k) => sum + (v - mean[i]) * (q[k] - mean[j]), 0) / (5 * 4)),
    );
    const [v, i, f] = mean;
    const z = v / i;
    const results = [
      {
        value: z * Math.cos(f),
        c: [Math.cos(f) / i, (-z * Math.cos(f)) / i, -z * Math.sin(f)],
        is: gum.h2.resistance,
      },
      {
        value: z * Math.sin(f),
        c: [Math.sin(f) / i, (-z * Math.sin(f)) / i, z * Math.cos(f)],
        is: gum.h2.reactance,
      },
      { value: z, c: [1 / i, -z / i, 0], is: gum.h2.impedance },
    ];
    for (const { value, c, is } of results) {
      // Three decimals are printed; the GUM went on from means and correlations that were already rounded, which
      // may move the last one by one.
      expect(Math.abs(value - is[0])).toBeLessThan(0.0011);
      expect(Math.abs(propagate(c, covariance) - is[1])).toBeLessThan(0.0011);
    }
  });

  it('H.3: thermometer, correction at 30 degrees', () => {
    const fit = fitLine(
      gum.h3.reading.map((t) => t - 20),
      gum.h3.correction,
    )!;
    expect(Math.abs(fit.intercept - gum.h3.intercept[0])).toBeLessThan(0.00006);
    expect(Math.abs(fit.interceptStandard - gum.h3.intercept[1])).toBeLessThan(0.00006);
    expect(Math.abs(fit.slope - gum.h3.slope[0])).toBeLessThan(0.000006);
    expect(Math.abs(fit.slopeStandard - gum.h3.slope[1])).toBeLessThan(0.000006);
    expect(fit.covariance / (fit.interceptStandard * fit.slopeStandard)).toBeCloseTo(gum.h3.correlation, 3);
    const at30 = lineAt(fit, 10);
    expect(Math.abs(at30.value - gum.h3.at30[0])).toBeLessThan(0.00006);
    expect(Math.abs(at30.standard - gum.h3.at30[1])).toBeLessThan(0.00006);
  });
});

describe('stage micrometer', () => {
  it('gives the published scale from real line centres', () => {
    const { centresPx, pitchUm, umPerPx, standardUmPerPx } = stageMicrometer;
    const fit = fitLine(
      centresPx.map((_, i) => i * pitchUm),
      centresPx,
    )!;
    const scale = 1 / fit.slope;
    expect(Math.abs(scale - umPerPx)).toBeLessThan(0.000006);
    expect(Math.abs((fit.slopeStandard / fit.slope) * scale - standardUmPerPx)).toBeLessThan(0.000006);
  });
});

import { beforeAll, describe, expect, it } from 'vitest';
import type { AxisFit } from '../../../core/cantilever/axis-fit.ts';
import { bendBudget, straightnessBudget } from '../../../core/cantilever/budget.ts';
import { correlationOf } from '../../../core/cantilever/correlated.ts';
import { type Followed, followAxis } from '../../../core/cantilever/follow.ts';
import { roughAxis } from '../../../core/cantilever/path.ts';
import { findSilhouette } from '../../../core/cantilever/silhouette.ts';
import { toGrey } from '../../../core/image/grey.ts';
import { type CantileverInput, measureCantilever } from '../../../core/index.ts';
import { randomCantileverSpec } from '../../../fixtures/render/cantilever-random.ts';
import { type CantileverSpec, renderCantilever } from '../../../fixtures/render/cantilever.ts';
import { createRandom } from '../../../fixtures/render/random.ts';
import { type BudgetLine, cantileverReportSchema } from '../../../shared/index.ts';
import { addsUp, standardOf } from '../adds-up.ts';
import { plainControl } from './laboratory.ts';

const SPEC: CantileverSpec = randomCantileverSpec(77, {
  view: 'side',
  light: 'backlit',
  bendDeg: 5,
  rotationDeg: 20,
  diamond: 'present',
});
const { umPerPx } = SPEC;
const LINE = { from: [100, 400], to: [300, 330] } as const;

async function measured(
  input: Partial<CantileverInput> = {},
  camera: Partial<CantileverSpec['camera']> = {},
) {
  const picture = renderCantilever({ ...SPEC, camera: { ...SPEC.camera, ...camera } });
  const report = cantileverReportSchema.parse(
    await measureCantilever(
      {
        view: 'side',
        picture,
        scale: { umPerPx, standardUmPerPx: 0.001 * umPerPx },
        line: { angleDeg: 20 },
        ...input,
      },
      plainControl,
    ),
  );
  if (!report.ok) throw new Error(report.reason.message);
  return { ...report.cantilever, budgets: report.cantilever.budgets! };
}

describe('the budgets of a cantilever', () => {
  let plain: Awaited<ReturnType<typeof measured>>;
  beforeAll(async () => {
    plain = await measured();
  });

  it('add up to what is stated, each for its own value', () => {
    addsUp(plain.bendAngleDeg, plain.budgets.bendAngleDeg);
    addsUp(plain.straightnessUm, plain.budgets.straightnessUm);
    addsUp(plain.skewDeg!, plain.budgets.skewDeg!);
    // The bend is one of the things that straightness and skew lean on: with its own sensitivity, and whole.
    const u = Math.hypot(...plain.budgets.bendAngleDeg.map((line) => line.standard));
    expect(standardOf(plain.budgets.skewDeg!, 'axis')).toBeCloseTo(u, 12);
    const perDegree = ((plain.lengthUm! / 8) * Math.PI) / 180;
    expect(standardOf(plain.budgets.straightnessUm, 'bend angle')).toBeCloseTo(u * perDegree, 9);
  });

  it('hold the scale in proportion to its uncertainty, where a length depends on it', async () => {
    const rough = await measured({ scale: { umPerPx, standardUmPerPx: 0.01 * umPerPx } });
    expect(standardOf(plain.budgets.straightnessUm, 'scale')).toBeCloseTo(
      0.001 * plain.straightnessUm.value,
      9,
    );
    expect(standardOf(rough.budgets.straightnessUm, 'scale')).toBeCloseTo(
      0.01 * plain.straightnessUm.value,
      9,
    );
    expect(rough.straightnessUm.expanded).toBeGreaterThan(plain.straightnessUm.expanded);
    // An angle needs none.
    expect(rough.budgets.bendAngleDeg).toEqual(plain.budgets.bendAngleDeg);
    expect(rough.bendAngleDeg).toEqual(plain.bendAngleDeg);
    // Without one there is none to be wrong, and one that came without an uncertainty counts as 0.3 %.
    const none = await measured({ scale: null });
    expect(none.budgets.straightnessUm.map((line) => line.source)).not.toContain('scale');
    const assumed = await measured({ scale: { umPerPx, standardUmPerPx: null } });
    expect(standardOf(assumed.budgets.straightnessUm, 'scale')).toBeCloseTo(
      0.003 * plain.straightnessUm.value,
      9,
    );
  }, 120_000);

  it('grow with the noise and with the blur of the edges', async () => {
    const noise = (one: typeof plain): number => standardOf(one.budgets.bendAngleDeg, 'edge noise');
    const blurred = await measured({}, { blurSigmaUm: 4 * SPEC.camera.blurSigmaUm });
    expect(noise(blurred)).toBeGreaterThan(1.2 * noise(plain));
    const grainy = await measured({}, { fullWellElectrons: 400 });
    expect(noise(grainy)).toBeGreaterThan(1.5 * noise(plain));
    expect(grainy.bendAngleDeg.expanded).toBeGreaterThan(plain.bendAngleDeg.expanded);
    for (const one of [blurred, grainy]) {
      addsUp(one.bendAngleDeg, one.budgets.bendAngleDeg);
      addsUp(one.straightnessUm, one.budgets.straightnessUm);
    }
  }, 120_000);

  it('hold a line by two points the worse, the nearer they lie together', async () => {
    const near = await measured({ line: LINE });
    const far = await measured({ line: { from: LINE.from, to: [500, 260] } });
    const pixel = (Math.SQRT2 / Math.hypot(200, 70)) * (180 / Math.PI);
    expect(standardOf(near.budgets.skewDeg!, 'line')).toBeCloseTo(pixel, 9);
    expect(standardOf(far.budgets.skewDeg!, 'line')).toBeCloseTo(pixel / 2, 9);
    addsUp(near.skewDeg!, near.budgets.skewDeg!);
    addsUp(far.skewDeg!, far.budgets.skewDeg!);
    expect(near.skewDeg!.expanded).toBeGreaterThan(far.skewDeg!.expanded);
  }, 120_000);
});

describe('the lines of a bend', () => {
  let found: Followed;
  beforeAll(() => {
    const image = toGrey(renderCantilever(SPEC));
    const shape = findSilhouette(image)!;
    found = followAxis(image, shape, roughAxis(shape)!)!;
  });
  const line = (change: Partial<Followed>, source: string): number =>
    standardOf(bendBudget({ ...found, ...change }).lines, source);

  it('grow with what the edges disagree about, the end piece would change, and was left out', () => {
    expect(line({ edgeDifference: 0, endDifference: 0 }, 'edges')).toBe(0);
    expect(line({ edgeDifference: 0.8, endDifference: 0 }, 'edges')).toBeCloseTo(0.2, 12);
    const doubted = { edgeDifference: 0, endBoth: 0 };
    expect(line({ ...doubted, endDifference: 1 }, 'edges')).toBeCloseTo(0.25, 12);
    // Seen on both edges it is hardly doubted, and what is told beyond two degrees is a lump.
    expect(line({ ...doubted, endBoth: 1, endDifference: 1 }, 'edges')).toBeCloseTo(0.05, 12);
    expect(line({ ...doubted, endDifference: 9 }, 'edges')).toBe(
      line({ ...doubted, endDifference: 2 }, 'edges'),
    );
    const course = line({ leftOut: 0 }, 'course of the bend');
    expect(line({ leftOut: 0.4 }, 'course of the bend')).toBeCloseTo(Math.hypot(course, 0.7 * 0.4), 12);
    expect(line({ even: 0.3, endSections: 0 }, 'course of the bend')).toBeGreaterThan(course);
  });

  it('grow with the scatter about the axis, in proportion', () => {
    const wider = (factor: number): AxisFit => ({
      ...found.fit,
      spread: factor * found.fit.spread,
      covariance: found.fit.covariance.map((v) => factor ** 2 * v),
    });
    const noise = line({}, 'edge noise');
    expect(line({ fit: wider(3) }, 'edge noise')).toBeCloseTo(3 * noise, 12);
    const size = { lengthPx: 500, straightnessPx: 9 };
    const straight = (fit: AxisFit): BudgetLine[] =>
      straightnessBudget({ ...found, fit }, size, 0.05, { perPx: umPerPx, relative: 0.001 });
    expect(standardOf(straight(wider(3)), 'edge noise')).toBeCloseTo(
      3 * standardOf(straight(found.fit), 'edge noise'),
      12,
    );
  });

  it('grow with the blur where lamps mirror themselves in the tube', () => {
    const shading = (change: Partial<Followed>): number => line(change, 'shading');
    expect(shading({ lit: false, sigma: 9 })).toBe(shading({ lit: false, sigma: 1 }));
    const [sharp, soft] = [1, 3].map((sigma) => shading({ lit: true, sigma }) ** 2 - 0.02 ** 2);
    expect(soft / sharp).toBeCloseTo(9, 6);
    expect(sharp).toBeGreaterThan(0);
  });

  it('grow where sections go wrong together', () => {
    const r = createRandom(5);
    const n = 1200;
    const fit = (memory: number): AxisFit => {
      const residual = new Float64Array(n);
      let [right, left] = [0, 0];
      for (let i = 0; i < n; i += 2) {
        right = memory * right + r.normal(0, 1);
        left = memory * left + r.normal(0, 1);
        residual.set([right, left], i);
      }
      return { ...found.fit, residual, weight: new Float64Array(n).fill(1) };
    };
    const sides = Int8Array.from({ length: n }, (_, i) => (i % 2 ? -1 : 1));
    expect(correlationOf(fit(0), sides)).toBeLessThan(1.3);
    // Of a first-order process: sqrt((1 + m) / (1 - m)).
    for (const memory of [0.6, 0.9]) {
      const expected = Math.sqrt((1 + memory) / (1 - memory));
      const ratio = correlationOf(fit(memory), sides) / expected;
      expect(ratio, `${memory}`).toBeGreaterThan(0.7);
      expect(ratio, `${memory}`).toBeLessThan(1.3);
    }
  });
});

import { describe, expect, it } from 'vitest';
import type { FrontSpec } from '../../../fixtures/render/front.ts';
import { randomFrontSpecs } from '../../../fixtures/render/front-random.ts';
import { comparisonReportSchema, type ComparisonReport } from '../../../shared/index.ts';
import { compareSpecs } from './compare-specs.ts';

/** Tips a third flatter than round: no rounded wedge. Rendered, fixed seeds. */

function specsOf(
  seed: number,
  rightLaterUm: number,
  residue = false,
): { baseline: FrontSpec; later: FrontSpec } {
  const specs = randomFrontSpecs(seed, { easy: true, residue });
  const flat = (spec: FrontSpec, right: number): FrontSpec => ({
    ...spec,
    tip: {
      ...spec.tip,
      ellipticity: -0.35,
      flats: { left: { widthUm: 0 }, right: { widthUm: right } },
    },
  });
  return { baseline: flat(specs.baseline, 0), later: flat(specs.later, rightLaterUm) };
}

async function compared(
  baseline: FrontSpec,
  later: FrontSpec,
): Promise<{ report: ComparisonReport; areaUm2: number }> {
  const { report, drawn } = await compareSpecs(baseline, later);
  return { report, areaUm2: drawn.later.truth.flats.right.areaUm2 };
}

describe('a tip that is no rounded wedge', () => {
  it.each([3, 4, 7])(
    'shows its change by the recession profile (seed %i)',
    async (seed) => {
      const specs = specsOf(seed, 12);
      const { report, areaUm2 } = await compared(specs.baseline, specs.later);
      expect(comparisonReportSchema.parse(report)).toBeTruthy();
      if (!report.ok) throw new Error(report.reason.message);
      expect(report.method).toBe('recession-profile');
      expect(report.warnings.map((w) => w.code)).toContain('no-wedge');
      expect(report.flats.right.detected).toBe(true);
      expect(report.flats.left.detected).toBe(false);
      for (const side of ['left', 'right'] as const) {
        const truth = side === 'right' ? 12 : 0;
        expect(Math.abs(report.flats[side].changeUm.value - truth)).toBeLessThanOrEqual(
          report.flats[side].changeUm.expanded,
        );
      }
      const { value, expanded } = report.contour.areaLostUm2;
      expect(Math.abs(value - areaUm2)).toBeLessThan(Math.max(expanded, 0.3 * areaUm2));
      const turn = specs.later.pose.rotationDeg - specs.baseline.pose.rotationDeg;
      expect(Math.abs(report.registration.rotationDeg - turn)).toBeLessThan(0.1);
    },
    60_000,
  );

  it('shows no change where there is none', async () => {
    for (const seed of [3, 4, 7, 8]) {
      const { baseline, later } = specsOf(seed, 0);
      const { report } = await compared(baseline, later);
      if (!report.ok) throw new Error(report.reason.message);
      expect(report.method).toBe('recession-profile');
      for (const side of ['left', 'right'] as const) expect(report.flats[side].detected).toBe(false);
      expect(report.contour.areaGainedUm2.value).toBeLessThan(report.contour.areaGainedUm2.expanded);
      expect(report.suspicions).toEqual([]);
    }
  }, 90_000);

  it.each([3, 4, 7])(
    'names what was put there (seed %i)',
    async (seed) => {
      const { baseline, later } = specsOf(seed, 0, true);
      const { report } = await compared(baseline, later);
      if (!report.ok) throw new Error(report.reason.message);
      expect(report.method).toBe('recession-profile');
      expect(report.suspicions.map((one) => one.kind)).toEqual(['residue']);
      const [lump] = report.suspicions;
      expect(Math.abs(lump.angleDeg - later.tip.residue!.angleDeg)).toBeLessThan(15);
    },
    60_000,
  );

  it('is not compared with another one', async () => {
    const { report } = await compared(specsOf(3, 0).baseline, specsOf(8, 0).later);
    expect(report.ok).toBe(false);
  }, 60_000);
});

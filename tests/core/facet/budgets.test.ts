import { describe, expect, it } from 'vitest';
import { examineCapture } from '../../../core/index.ts';
import { type EndOnSpec, randomEndOnSpec, renderEndOn } from '../../../fixtures/render/facets.ts';
import { examinationReportSchema } from '../../../shared/index.ts';
import { addsUp, standardOf } from '../adds-up.ts';
import { plainControl } from '../cantilever/laboratory.ts';

const SPEC = randomEndOnSpec(203, { state: 'worn' });

async function facets(relative: number | null, camera: Partial<EndOnSpec['camera']> = {}) {
  const { umPerPx } = SPEC;
  const report = examinationReportSchema.parse(
    await examineCapture(
      {
        view: 'end-on',
        picture: renderEndOn({ ...SPEC, camera: { ...SPEC.camera, ...camera } }),
        scale: { umPerPx, standardUmPerPx: relative === null ? null : relative * umPerPx },
      },
      plainControl,
    ),
  );
  if (!report.ok) throw new Error(report.reason.message);
  expect(report.facets).toHaveLength(2);
  return report.facets!.map((f) => ({
    ...f,
    budget: f.budget!,
    acrossBudget: f.acrossBudget!,
    widthBudget: f.widthBudget!,
  }));
}

describe('the budgets of a patch', () => {
  it('add up to what is stated, along, across, and of the flat that is seen at 45 degrees', async () => {
    for (const f of await facets(0.001)) {
      addsUp(f.alongUm, f.budget);
      addsUp(f.acrossUm, f.acrossBudget);
      addsUp(f.widthUm!, f.widthBudget);
      // The width is the extent across by 1 / cos 45 degrees, and so is every line of it.
      expect(f.widthUm!.value).toBeCloseTo(Math.SQRT2 * f.acrossUm.value, 9);
      for (const { source, standard } of f.acrossBudget)
        expect(standardOf(f.widthBudget, source)).toBeCloseTo(Math.SQRT2 * standard, 9);
    }
  }, 120_000);

  it('hold the scale in proportion to its uncertainty, 0.3 % where none came with it', async () => {
    const exact = await facets(0);
    for (const relative of [0.01, null]) {
      const rough = await facets(relative);
      rough.forEach((f, i) => {
        expect(standardOf(exact[i].budget, 'scale')).toBe(0);
        expect(standardOf(f.budget, 'scale')).toBeCloseTo((relative ?? 0.003) * f.alongUm.value, 9);
        expect(standardOf(f.acrossBudget, 'scale')).toBeCloseTo((relative ?? 0.003) * f.acrossUm.value, 9);
        expect(f.alongUm.expanded).toBeGreaterThan(exact[i].alongUm.expanded);
        addsUp(f.alongUm, f.budget);
      });
    }
  }, 120_000);

  it('grow with noise and blur', async () => {
    const plain = await facets(0.001);
    const grainy = await facets(0.001, { fullWellElectrons: 500, readNoiseElectrons: 20 });
    const blurred = await facets(0.001, { blurSigmaUm: 2 * SPEC.camera.blurSigmaUm });
    for (const i of [0, 1]) {
      const fit = (one: typeof plain): number => standardOf(one[i].budget, 'fit');
      expect(fit(grainy), 'noise').toBeGreaterThan(1.2 * fit(plain));
      expect(fit(blurred), 'blur').toBeGreaterThan(fit(plain));
      addsUp(grainy[i].alongUm, grainy[i].budget);
      addsUp(blurred[i].alongUm, blurred[i].budget);
    }
  }, 120_000);
});

import { type ExaminationReport, type Outcome, refuse, REPORT_VERSION } from '../../shared/index.ts';
import type { Control, ExamineInput, GivenScale } from '../index.ts';
import { ENGINE_VERSION } from '../version.ts';
import { checkedByLight } from './lights.ts';
import { type FacetReading, measureFacets } from './measure.ts';

export { type FacetMeasurement, type FacetReading, measureFacets } from './measure.ts';
export { movesWithLight } from './lights.ts';

/**
 * The end-on branch of an examination: facets instead of an outline. With a second picture of the same part, not moved,
 * under a lamp from another side, patches that move with the lamp are refused.
 */
export async function examineEndOn(input: ExamineInput, control: Control): Promise<ExaminationReport> {
  const started = control.now();
  const common = () => ({
    ...(input.id === undefined ? {} : { id: input.id }),
    reportVersion: REPORT_VERSION as typeof REPORT_VERSION,
    engineVersion: ENGINE_VERSION,
    timingMs: control.now() - started,
  });
  const outcome: Outcome<FacetReading> =
    input.scale === null
      ? refuse(
          'scale-missing',
          'This picture has no scale yet. Give µm per pixel, two points of known distance, or carry a scale over.',
        )
      : readFacets(input, input.scale, control);
  if (!outcome.ok) return { ok: false, ...common(), reason: outcome.reason };
  const { facets, warnings, edgeUm, groove } = outcome.value;
  return {
    ok: true,
    ...common(),
    unit: 'um',
    sharpness: { edgeUm: edgeUm ?? 0 },
    facets: facets.map(({ budget: { along, across, width }, ...rest }) => ({
      ...rest,
      budget: along,
      acrossBudget: across,
      widthBudget: width,
    })),
    ...(groove === null ? {} : { groove }),
    suspicions: [],
    warnings,
  };
}

function readFacets(input: ExamineInput, scale: GivenScale, control: Control): Outcome<FacetReading> {
  const { picture, otherLight } = input;
  control.progress('Looking for bright patches', 0.1);
  control.check();
  let rounds = 0;
  const tick = (): void => {
    control.progress('Fitting the patches', Math.min(0.9, 0.2 + 0.1 * rounds++));
    control.check();
  };
  const one = measureFacets(picture, scale, tick);
  if (!one.ok || otherLight === undefined) return one;
  return checkedByLight(one.value, measureFacets(otherLight, scale, tick), [picture, otherLight], scale);
}

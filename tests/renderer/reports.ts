import { ENGINE_VERSION } from '../../core/version.ts';
import {
  comparisonAnswerSchema,
  type ComparisonAnswer,
  type FlatPair,
  type Measured,
} from '../../shared/index.ts';

/** Reports put together by hand for the screens' tests; the schema checks that they could have come from the engine. */
export const measured = (value: number, expanded: number): Measured => ({ value, expanded });

export function flatPair(later: Measured, part: Partial<FlatPair> = {}): FlatPair {
  return {
    baselineUm: measured(0, 2),
    laterUm: later,
    changeUm: later,
    decisionThresholdUm: 4.5,
    detectionLimitUm: 5.13,
    detected: later.value > 4.5,
    ...part,
  };
}

export function answered(
  left: FlatPair,
  right: FlatPair,
  part: Partial<ComparisonAnswer> = {},
): ComparisonAnswer {
  return comparisonAnswerSchema.parse({
    ok: true,
    reportVersion: 1,
    engineVersion: ENGINE_VERSION,
    registration: { rotationDeg: -2.94, scaleRatio: 1.0033, residualUm: 0.02, rotationDegExpanded: 1.9 },
    sharpness: { baselineEdgeUm: 4.3, laterEdgeUm: 4.4 },
    tip: { radiusUm: measured(17.71, 0.41), arcDeg: 68 },
    contour: {
      areaLostUm2: measured(7.31, 0.79),
      areaGainedUm2: measured(0, 0.29),
      largestRecessionUm: measured(0.63, 0.06),
      largestGrowthUm: measured(0, 0),
    },
    flats: { left, right },
    suspicions: [],
    warnings: [],
    timingMs: 1,
    ...part,
  });
}

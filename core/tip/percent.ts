import type { ComparisonAnswer, FlatPair, Measured } from '../../shared/index.ts';

/** The same answer in per cent of the shank's width: lengths times 100/shank, areas times its square, no limit in um. */
export function inPercentOf(answer: ComparisonAnswer, shank: number): ComparisonAnswer {
  const f = 100 / shank;
  const scaled = (m: Measured, factor = f): Measured => ({
    value: m.value * factor,
    expanded: m.expanded * factor,
    ...(m.low === undefined ? {} : { low: m.low * factor }),
    ...(m.high === undefined ? {} : { high: m.high * factor }),
  });
  const flat = (x: FlatPair): FlatPair => ({
    ...x,
    baselineUm: scaled(x.baselineUm),
    laterUm: scaled(x.laterUm),
    changeUm: scaled(x.changeUm),
    decisionThresholdUm: x.decisionThresholdUm * f,
    detectionLimitUm: x.detectionLimitUm * f,
    ...(x.budget ? { budget: x.budget.map((line) => ({ ...line, standard: line.standard * f })) } : {}),
  });
  const { areaLostUm2, areaGainedUm2, largestRecessionUm, largestGrowthUm } = answer.contour;
  return {
    ...answer,
    unit: 'percent-of-shank',
    registration: { ...answer.registration, residualUm: answer.registration.residualUm * f },
    sharpness: {
      baselineEdgeUm: answer.sharpness.baselineEdgeUm * f,
      laterEdgeUm: answer.sharpness.laterEdgeUm * f,
    },
    tip: { ...answer.tip, radiusUm: scaled(answer.tip.radiusUm) },
    contour: {
      areaLostUm2: scaled(areaLostUm2, f * f),
      areaGainedUm2: scaled(areaGainedUm2, f * f),
      largestRecessionUm: scaled(largestRecessionUm),
      largestGrowthUm: scaled(largestGrowthUm),
    },
    flats: { left: flat(answer.flats.left), right: flat(answer.flats.right) },
    suspicions: answer.suspicions.map((s) => ({ ...s, sizeUm: s.sizeUm * f, depthUm: s.depthUm * f })),
    warnings: [
      ...answer.warnings,
      {
        code: 'no-um',
        message:
          'No scale is known: every figure is in per cent of the shank width in the baseline, no um, and no limit in um is stated.',
      },
    ],
  };
}

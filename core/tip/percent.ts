import type { BudgetLine, ComparisonAnswer, FlatPair, Measured, Pose } from '../../shared/index.ts';

type Drawing = NonNullable<ComparisonAnswer['drawing']>;

/** The same answer in per cent of the shank's width: lengths times 100/shank, areas times its square, no limit in um. */
export function inPercentOf(answer: ComparisonAnswer, shank: number): ComparisonAnswer {
  const f = 100 / shank;
  const scaled = (m: Measured, factor = f): Measured => ({
    value: m.value * factor,
    expanded: m.expanded * factor,
    ...(m.low === undefined ? {} : { low: m.low * factor }),
    ...(m.high === undefined ? {} : { high: m.high * factor }),
  });
  const lines = (budget: readonly BudgetLine[], factor = f): BudgetLine[] =>
    budget.map((line) => ({ ...line, standard: line.standard * factor }));
  const flat = (x: FlatPair): FlatPair => ({
    ...x,
    baselineUm: scaled(x.baselineUm),
    laterUm: scaled(x.laterUm),
    changeUm: scaled(x.changeUm),
    decisionThresholdUm: x.decisionThresholdUm * f,
    detectionLimitUm: x.detectionLimitUm * f,
    ...(x.baselineDecisionThresholdUm === undefined
      ? {}
      : { baselineDecisionThresholdUm: x.baselineDecisionThresholdUm * f }),
    ...(x.baselineDetectionLimitUm === undefined
      ? {}
      : { baselineDetectionLimitUm: x.baselineDetectionLimitUm * f }),
    ...(x.budget ? { budget: lines(x.budget) } : {}),
    ...(x.baselineBudget ? { baselineBudget: lines(x.baselineBudget) } : {}),
    ...(x.changeBudget ? { changeBudget: lines(x.changeBudget) } : {}),
  });
  const pose = (p: Pose): Pose => ({ ...p, umPerPx: p.umPerPx * f });
  const contour = (points: Drawing['baselineContour']): Drawing['baselineContour'] =>
    points.map(([x, y]) => [x * f, y * f]);
  const { drawing } = answer;
  const { areaLostUm2, areaGainedUm2, largestRecessionUm, largestGrowthUm, budgets } = answer.contour;
  return {
    ...answer,
    unit: 'percent-of-shank',
    registration: { ...answer.registration, residualUm: answer.registration.residualUm * f },
    sharpness: {
      baselineEdgeUm: answer.sharpness.baselineEdgeUm * f,
      laterEdgeUm: answer.sharpness.laterEdgeUm * f,
    },
    tip: {
      ...answer.tip,
      radiusUm: scaled(answer.tip.radiusUm),
      ...(answer.tip.budget ? { budget: lines(answer.tip.budget) } : {}),
    },
    contour: {
      areaLostUm2: scaled(areaLostUm2, f * f),
      areaGainedUm2: scaled(areaGainedUm2, f * f),
      largestRecessionUm: scaled(largestRecessionUm),
      largestGrowthUm: scaled(largestGrowthUm),
      ...(budgets && {
        budgets: {
          areaLostUm2: lines(budgets.areaLostUm2, f * f),
          areaGainedUm2: lines(budgets.areaGainedUm2, f * f),
          largestRecessionUm: lines(budgets.largestRecessionUm),
          largestGrowthUm: lines(budgets.largestGrowthUm),
        },
      }),
    },
    // The frame counts in per cent, too: what is read off the picture and what stands beside it must agree.
    ...(drawing && {
      drawing: {
        baselinePose: pose(drawing.baselinePose),
        laterPose: pose(drawing.laterPose),
        baselineContour: contour(drawing.baselineContour),
        laterContour: contour(drawing.laterContour),
        profile: drawing.profile.map(([angle, value, u]) => [angle, value * f, u * f]),
      },
    }),
    flats: { left: flat(answer.flats.left), right: flat(answer.flats.right) },
    suspicions: answer.suspicions.map((s) => ({ ...s, sizeUm: s.sizeUm * f, depthUm: s.depthUm * f })),
    warnings: [
      ...answer.warnings,
      {
        code: 'no-um',
        message:
          'No scale is known: every figure is in per cent of the shank width in the baseline, no µm, and no limit in µm is stated.',
      },
    ],
  };
}

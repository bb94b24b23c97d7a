import type {
  BudgetLine,
  ComparisonAnswer,
  ExaminationAnswer,
  FlatPair,
  FlatSingle,
  GivenRepeatability,
  Scatter,
  Warning,
} from '../../shared/index.ts';
import { FIT_SOURCE, POSE_SOURCE, widened } from './budget.ts';
import { DECISION_FACTOR, MISS_FACTOR } from './detection.ts';
import { repeatabilityLine } from './repeatability.ts';

/**
 * A person's own study in a report. s of one reading holds the fit's own noise already, which has a line of its own:
 * the study carries its whole s with its n - 1 degrees of freedom, and the fit's line keeps only what goes beyond what s
 * holds of it,
 *
 *   u^2 = s^2 + max(0, f^2 - min(s^2, f_study^2)) + the rest,
 *
 * f being the fit's noise in this picture and f_study the root mean square of it in the study. So u is never below s nor
 * below f, a softer picture than those of the study counts as softer, and no degree of freedom is invented: the only
 * estimate in the sum is s^2. In a width the entry for the pose stays: a turn hides depth whichever way it goes, so
 * readings scatter about a mean that is short itself, and a habit common to all placings does not scatter at all. In a
 * change between two pictures under one study both cancel, so there the pose keeps only what goes beyond s, too.
 */
/** The lines with the scatter among them; in the difference of two readings it counts sqrt(2) times. */
function withScatter(
  lines: readonly BudgetLine[],
  scatter: Scatter,
  of: 'reading' | 'change' = 'reading',
): BudgetLine[] {
  const { standardUm: single, fitUm, degreesOfFreedom } = scatter;
  const line = repeatabilityLine({ single, degreesOfFreedom }, of);
  const times = of === 'change' ? Math.SQRT2 : 1;
  const fit = lines.find((one) => one.source === FIT_SOURCE)?.standard ?? 0;
  const inside = Math.min(line.standard, fit, fitUm === null ? Infinity : times * fitUm);
  const forPose = Math.max(0, line.standard ** 2 - inside ** 2);
  const beyond = (one: BudgetLine, taken: number): BudgetLine => ({
    ...one,
    standard: Math.sqrt(Math.max(0, one.standard ** 2 - taken)),
    note: 'only what goes beyond what the repeatability holds of it',
  });
  return [
    ...lines.map((one) => {
      if (one.source === FIT_SOURCE) return beyond(one, inside ** 2);
      return of === 'change' && one.source === POSE_SOURCE ? beyond(one, forPose) : one;
    }),
    line,
  ];
}

/**
 * What a scatter adds to a limit. The part of s beyond the fits' own noise, r, is an area of (w^2/4R) r at a flat of width
 * w (a = w^3/12R); added in quadrature to the area that the limit stands for, a^2 + (k w^2 r/4R)^2.
 */
function raised(limit: number, factor: number, scatter: Scatter | null): number {
  if (scatter === null || !(limit > 0)) return limit;
  const beyond = Math.sqrt(Math.max(0, scatter.standardUm ** 2 - (scatter.fitUm ?? 0) ** 2));
  return limit * Math.cbrt(Math.hypot(1, (3 * factor * beyond) / limit));
}
const DETECT = DECISION_FACTOR + MISS_FACTOR;

type Tip = NonNullable<ExaminationAnswer['tip']>;
function tipWith(tip: Tip, scatter: Scatter | null): Tip {
  if (scatter === null) return tip;
  const { budget: before = [] } = tip;
  const budget = withScatter(before, scatter);
  return { ...tip, radiusUm: widened(tip.radiusUm, before, budget), budget };
}

/** The report on one picture with the person's study in its budgets; end-on pictures are not touched. */
export function examinationWithRepeatability(
  report: ExaminationAnswer,
  given: GivenRepeatability,
): ExaminationAnswer {
  const { flats, tip } = report;
  if (flats === undefined || tip === undefined) return report;
  const flat = (one: FlatSingle, scatter: Scatter): FlatSingle => {
    const { budget: before = [] } = one;
    const budget = withScatter(before, scatter);
    const decisionThresholdUm = raised(one.decisionThresholdUm, DECISION_FACTOR, scatter);
    return {
      ...one,
      widthUm: widened(one.widthUm, before, budget, 0),
      decisionThresholdUm,
      detectionLimitUm: raised(one.detectionLimitUm, DETECT, scatter),
      detected: one.detected && one.widthUm.value > decisionThresholdUm,
      budget,
    };
  };
  return {
    ...report,
    repeatability: given,
    tip: tipWith(tip, given.radius),
    flats: { left: flat(flats.left, given.left), right: flat(flats.right, given.right) },
  };
}

const NOT_COUNTED: Warning = {
  code: 'repeatability-not-counted',
  message:
    'Your repeatability study counts in µm and these pictures have no scale, so it is not in the uncertainty. Give them a scale and compare again.',
};

/**
 * The same for a pair. In a change both readings scatter: sqrt(2) s with the same degrees of freedom where one study
 * stands for both (one estimate, used twice), else two lines, each with its own.
 */
export function comparisonWithRepeatability(
  report: ComparisonAnswer,
  baseline: GivenRepeatability | null,
  later: GivenRepeatability | null,
): ComparisonAnswer {
  if (baseline === null && later === null) return report;
  if (report.unit === 'percent-of-shank') return { ...report, warnings: [...report.warnings, NOT_COUNTED] };
  const radii = [baseline?.radius ?? null, later?.radius ?? null];
  return {
    ...report,
    repeatability: { baseline, later },
    // One radius is fitted to both placings; that it is the steadier for it is not counted.
    tip: tipWith(report.tip, (radii[0]?.standardUm ?? 0) > (radii[1]?.standardUm ?? 0) ? radii[0] : radii[1]),
    flats: {
      left: flatPairWith(report.flats.left, baseline?.left ?? null, later?.left ?? null),
      right: flatPairWith(report.flats.right, baseline?.right ?? null, later?.right ?? null),
    },
    contour: contourWith(report, baseline, later),
  };
}

function flatPairWith(flat: FlatPair, baseline: Scatter | null, later: Scatter | null): FlatPair {
  const { budget = [], baselineBudget = [], changeBudget = [] } = flat;
  const { baselineDecisionThresholdUm: decided, baselineDetectionLimitUm: seen } = flat;
  const before = baseline === null ? baselineBudget : withScatter(baselineBudget, baseline);
  const after = later === null ? budget : withScatter(budget, later);
  const change = changeWith(changeBudget, baseline, later);
  const decisionThresholdUm = raised(flat.decisionThresholdUm, DECISION_FACTOR, later);
  return {
    ...flat,
    baselineUm: widened(flat.baselineUm, baselineBudget, before, 0),
    laterUm: widened(flat.laterUm, budget, after, 0),
    changeUm: widened(flat.changeUm, changeBudget, change),
    decisionThresholdUm,
    detectionLimitUm: raised(flat.detectionLimitUm, DETECT, later),
    detected: flat.detected && flat.laterUm.value > decisionThresholdUm,
    ...(decided === undefined
      ? {}
      : { baselineDecisionThresholdUm: raised(decided, DECISION_FACTOR, baseline) }),
    ...(seen === undefined ? {} : { baselineDetectionLimitUm: raised(seen, DETECT, baseline) }),
    budget: after,
    baselineBudget: before,
    changeBudget: change,
  };
}

function changeWith(
  lines: readonly BudgetLine[],
  baseline: Scatter | null,
  later: Scatter | null,
): BudgetLine[] {
  if (baseline === null || later === null) {
    const only = baseline ?? later;
    return only === null ? [...lines] : withScatter(lines, only);
  }
  const same =
    baseline.standardUm === later.standardUm && baseline.degreesOfFreedom === later.degreesOfFreedom;
  if (same) return withScatter(lines, later, 'change');
  // What the first holds of the fit is out of its line before the second is counted.
  return withScatter(withScatter(lines, baseline), later);
}

/**
 * Areas and depths follow from the widths (chord on a circle): dA/dw = (w^2/4R)/cos, dd/dw = (w/4R)/cos, cos being that
 * of half the flat's angle. The walls of one placing are added as if they went together. Growth is no flat: left alone.
 */
function contourWith(
  report: ComparisonAnswer,
  baseline: GivenRepeatability | null,
  later: GivenRepeatability | null,
): ComparisonAnswer['contour'] {
  const { contour, flats, tip } = report;
  const radius = tip.radiusUm.value;
  const slope = (width: number, power: 1 | 2): number => {
    const w = Math.max(0, width);
    return w ** power / (4 * radius) / Math.sqrt(Math.max(0.1, 1 - (w / (2 * radius)) ** 2));
  };
  const placings = [
    { given: baseline, left: flats.left.baselineUm.value, right: flats.right.baselineUm.value },
    { given: later, left: flats.left.laterUm.value, right: flats.right.laterUm.value },
  ];
  const scatters = placings.flatMap(({ given }) => (given === null ? [] : [given.left, given.right]));
  const carried = (lines: readonly BudgetLine[], power: 1 | 2): BudgetLine[] => {
    const read = (which: (scatter: Scatter) => number): number =>
      Math.hypot(
        ...placings.map(({ given, left, right }) => {
          if (given === null) return 0;
          const parts = [which(given.left) * slope(left, power), which(given.right) * slope(right, power)];
          return power === 2 ? parts[0] + parts[1] : Math.max(...parts);
        }),
      );
    return withScatter(lines, {
      standardUm: read((one) => one.standardUm),
      fitUm: scatters.some((one) => one.fitUm === null) ? null : read((one) => one.fitUm ?? 0),
      degreesOfFreedom: Math.min(...scatters.map((one) => one.degreesOfFreedom)),
    });
  };
  const lost = carried(contour.budgets?.areaLostUm2 ?? [], 2);
  const deepest = carried(contour.budgets?.largestRecessionUm ?? [], 1);
  const { budgets } = contour;
  return {
    ...contour,
    areaLostUm2: widened(contour.areaLostUm2, budgets?.areaLostUm2 ?? [], lost),
    largestRecessionUm: widened(contour.largestRecessionUm, budgets?.largestRecessionUm ?? [], deepest),
    ...(budgets === undefined
      ? {}
      : { budgets: { ...budgets, areaLostUm2: lost, largestRecessionUm: deepest } }),
  };
}

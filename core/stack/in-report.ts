import type {
  BudgetLine,
  ComparisonReport,
  ExaminationReport,
  FlatPair,
  FlatSingle,
  Made,
  Warning,
} from '../../shared/index.ts';
import { widened } from '../uncertainty/budget.ts';

/**
 * What merging focal planes costs, said in the report. The planes lie over each other to `alignmentPx` only: where arc
 * and flat come from different planes, a flat's depth is off by that much, and its width w on an arc of radius R by
 * 4R/w times that (from d = w^2/8R). And the planes differ in size by `sizeChange`, of which the merge keeps one.
 */
export type MergeFacts = Extract<Made, { how: 'merge' }>;

export const mergeOf = (made: Made | null | undefined): MergeFacts | null =>
  made?.how === 'merge' ? made : null;

const THIRD = 1 / Math.sqrt(3);
/** Decision and miss factors of the detection limit (core/uncertainty/detection). */
const DECIDE = 3.3;
const DETECT = 3.3 + 1.645;

type Cost = {
  /** Standard uncertainty of a depth, in the report's unit. */
  readonly depth: number;
  /** Relative standard uncertainty of a length. */
  readonly size: number;
  readonly radius: number;
};

function costOf(merge: MergeFacts, unitPerPx: number, radius: number): Cost {
  return { depth: merge.alignmentPx * unitPerPx * THIRD, size: (merge.sizeChange * THIRD) / 2, radius };
}

/** Standard uncertainty of a width; below a quarter of the radius the slope 4R/w is kept from running away. */
const widthCost = ({ depth, size, radius }: Cost, width: number): number =>
  Math.hypot(((4 * radius) / Math.max(width, radius / 4)) * depth, width * size);

/** A limit is a cube root of an area (a = w^3/12R), and the merge adds w times the depth's uncertainty to the area. */
const raised = (limit: number, factor: number, { depth, radius }: Cost): number =>
  Math.cbrt(limit ** 3 + 12 * radius * factor * limit * depth);

const line = (merge: MergeFacts, standard: number): BudgetLine => ({
  source: 'merge of focal planes',
  standard,
  type: 'B',
  degreesOfFreedom: null,
  note: `${merge.planes} planes, laid over each other to ${merge.alignmentPx.toFixed(2)} px, sizes within ${(100 * merge.sizeChange).toFixed(2)} %`,
});

const warning = (which: string, merge: MergeFacts): Warning => ({
  code: 'merged-planes',
  message: `${which} was put together from the sharp places of ${merge.planes} focal planes. Edges where two planes meet can be off by a fraction of a pixel; the budget counts it. Look at the single planes before a decision rests on it.`,
});

/** Adds what merging costs to a report on one picture; a refusal, or a picture that is no merge, stays as it is. */
export function examinationOfMerge(report: ExaminationReport, merge: MergeFacts | null): ExaminationReport {
  if (merge === null || !report.ok) return report;
  const warnings = [...report.warnings, warning('This picture', merge)];
  const { flats, tip, drawing } = report;
  if (flats === undefined || tip === undefined || drawing === undefined) return { ...report, warnings };
  const cost = costOf(merge, drawing.pose.umPerPx, tip.radiusUm.value);
  const flat = (one: FlatSingle): FlatSingle => {
    const before = one.budget ?? [];
    const budget = [...before, line(merge, widthCost(cost, one.widthUm.value))];
    const decisionThresholdUm = raised(one.decisionThresholdUm, DECIDE, cost);
    return {
      ...one,
      widthUm: widened(one.widthUm, before, budget, 0),
      decisionThresholdUm,
      detectionLimitUm: raised(one.detectionLimitUm, DETECT, cost),
      detected: one.detected && one.widthUm.value > decisionThresholdUm,
      budget,
    };
  };
  return { ...report, warnings, flats: { left: flat(flats.left), right: flat(flats.right) } };
}

/** The same for a pair, for the picture or pictures of it that are merges. */
export function comparisonOfMerges(
  report: ComparisonReport,
  baseline: MergeFacts | null,
  later: MergeFacts | null,
): ComparisonReport {
  if ((baseline === null && later === null) || !report.ok) return report;
  const warnings = [
    ...report.warnings,
    ...(baseline === null ? [] : [warning('The baseline', baseline)]),
    ...(later === null ? [] : [warning('The later picture', later)]),
  ];
  const { flats, tip, drawing } = report;
  if (drawing === undefined) return { ...report, warnings };
  const radius = tip.radiusUm.value;
  const before = baseline === null ? null : costOf(baseline, drawing.baselinePose.umPerPx, radius);
  const after = later === null ? null : costOf(later, drawing.laterPose.umPerPx, radius);
  const flat = (one: FlatPair): FlatPair => {
    const of = (merge: MergeFacts | null, cost: Cost | null, width: number): BudgetLine[] =>
      merge === null || cost === null ? [] : [line(merge, widthCost(cost, width))];
    const u0 = of(baseline, before, one.baselineUm.value);
    const u1 = of(later, after, one.laterUm.value);
    const both = [...u0, ...u1];
    const { budget = [], baselineBudget = [], changeBudget = [] } = one;
    const threshold =
      after === null ? one.decisionThresholdUm : raised(one.decisionThresholdUm, DECIDE, after);
    return {
      ...one,
      baselineUm: widened(one.baselineUm, baselineBudget, [...baselineBudget, ...u0], 0),
      laterUm: widened(one.laterUm, budget, [...budget, ...u1], 0),
      changeUm: widened(one.changeUm, changeBudget, [...changeBudget, ...both]),
      decisionThresholdUm: threshold,
      detectionLimitUm: after === null ? one.detectionLimitUm : raised(one.detectionLimitUm, DETECT, after),
      detected: one.detected && one.laterUm.value > threshold,
      budget: [...budget, ...u1],
      baselineBudget: [...baselineBudget, ...u0],
      changeBudget: [...changeBudget, ...both],
    };
  };
  return { ...report, warnings, flats: { left: flat(flats.left), right: flat(flats.right) } };
}

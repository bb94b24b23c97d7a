import type { BudgetLine, ComparisonAnswer, FlatPair, Measured } from '../../shared/index.ts';
import { combineBudget, widened } from '../uncertainty/budget.ts';

/**
 * An unworn sibling of the same type standing in for a baseline. Two specimens of a type differ, most of all in the
 * radius of their tips; what differs between them looks like wear, so it goes into the budget. Elementary geometry on a
 * round tip in a cone, um (or per cent of the shank where the report counts so).
 */

/** Standard deviation of tip radii of one type, um: own assumption, no source; the person may know better. */
export const USUAL_SPREAD_UM = 0.5;
/** The same where no scale is known: share of the radius. Own assumption, no source. */
const SPREAD_SHARE = 0.03;

/** Cones of 40 to 55 degrees are usual (IEC 98, read second-hand): half of the middle. */
const HALF_ANGLE = (24 * Math.PI) / 180;
/**
 * A circle that touches both flanks moves up by dR / sin h when it grows by dR; at the groove walls, 45 degrees from the
 * axis, the outline recedes by (cos 45 / sin h - 1) dR.
 */
const DEPTH_PER_RADIUS = Math.abs(1 - Math.SQRT1_2 / Math.sin(HALF_ANGLE));

/** Factors of the decision threshold and of the detection limit, as everywhere in the engine (Currie 1968). */
const DECISION = 3.3;
const MISSED_ONCE_IN_TWENTY = 1.645;

const depthOf = (width: number, radius: number): number => (width * width) / (8 * radius);
const widthOf = (depth: number, radius: number): number => Math.sqrt(8 * radius * Math.max(0, depth));

/** The report with the spread between specimens in every value that rests on the other part's shape. */
export function withSiblingSpread(
  report: ComparisonAnswer,
  spreadUm: number = USUAL_SPREAD_UM,
): ComparisonAnswer {
  const radius = report.tip.radiusUm.value;
  const radiusSpread = report.unit === 'percent-of-shank' ? SPREAD_SHARE * radius : spreadUm;
  const depth = DEPTH_PER_RADIUS * radiusSpread;
  const { contour, flats } = report;
  // Over the quarter turn between the two walls.
  const area = depth * radius * (Math.PI / 2);
  const standards = {
    areaLostUm2: area,
    areaGainedUm2: area,
    largestRecessionUm: depth,
    largestGrowthUm: depth,
  };
  const names = Object.keys(standards) as (keyof typeof standards)[];
  const budgets = {
    areaLostUm2: [],
    areaGainedUm2: [],
    largestRecessionUm: [],
    largestGrowthUm: [],
  } as NonNullable<typeof contour.budgets>;
  const values = { ...contour };
  for (const name of names) {
    const known = contour.budgets?.[name] ?? [];
    budgets[name] = [...known, line(standards[name])];
    values[name] = widened(contour[name], known, budgets[name]);
  }
  // One radius is fitted to both parts and lies between theirs; the whole spread is on the safe side.
  const before = report.tip.budget ?? [];
  const ofRadius = [...before, line(radiusSpread)];
  return {
    ...report,
    tip: { ...report.tip, radiusUm: widened(report.tip.radiusUm, before, ofRadius), budget: ofRadius },
    flats: { left: wall(flats.left, depth, radius), right: wall(flats.right, depth, radius) },
    contour: { ...values, budgets },
    warnings: [
      ...report.warnings,
      {
        code: 'sibling-baseline',
        message:
          'The baseline shows an unworn sibling, not this stylus when it was new. The spread between specimens is in every uncertainty; small flats cannot be told this way.',
      },
    ],
  };
}

function wall(flat: FlatPair, depth: number, radius: number): FlatPair {
  const decisionThresholdUm = widthOf(
    Math.hypot(depthOf(flat.decisionThresholdUm, radius), DECISION * depth),
    radius,
  );
  const detectionLimitUm = widthOf(
    Math.hypot(depthOf(flat.detectionLimitUm, radius), (DECISION + MISSED_ONCE_IN_TWENTY) * depth),
    radius,
  );
  const { budget = [], changeBudget = [] } = flat;
  const [down, up] = halves(flat.laterUm.value, depth, radius);
  const added = line((down + up) / 4);
  const later = [...budget, added];
  const change = [...changeBudget, added];
  return {
    ...flat,
    laterUm: spread(flat.laterUm, [down, up], budget, later),
    changeUm: widened(flat.changeUm, changeBudget, change),
    decisionThresholdUm,
    detectionLimitUm,
    detected: flat.laterUm.value > decisionThresholdUm,
    budget: later,
    changeBudget: change,
  };
}

const line = (standard: number): BudgetLine => ({
  source: 'spread between specimens',
  standard,
  type: 'B',
  degreesOfFreedom: null,
  note: 'tip radii of like styluses; own assumption, no source',
});

/** A depth that may be wrong both ways by two standard deviations, as widths below and above: a width grows with its root. */
function halves(width: number, depth: number, radius: number): [number, number] {
  const middle = depthOf(width, radius);
  return [width - widthOf(middle - 2 * depth, radius), widthOf(middle + 2 * depth, radius) - width];
}

function spread(
  width: Measured,
  [down, up]: readonly [number, number],
  before: readonly BudgetLine[],
  after: readonly BudgetLine[],
): Measured {
  const [was, is] = [combineBudget(before).coverageFactor, combineBudget(after).coverageFactor];
  const end = (half: number, more: number): number => Math.hypot((half * is) / was, (more * is) / 2);
  const { value, expanded } = width;
  return {
    value,
    expanded: end(expanded, (down + up) / 2),
    low: Math.max(0, value - end(value - (width.low ?? value - expanded), down)),
    high: value + end((width.high ?? value + expanded) - value, up),
  };
}

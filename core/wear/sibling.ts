import type { ComparisonAnswer, FlatPair, Measured } from '../../shared/index.ts';

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
  const wider = (value: Measured, standard: number): Measured => ({
    ...value,
    expanded: Math.hypot(value.expanded, 2 * standard),
  });
  // Over the quarter turn between the two walls.
  const area = depth * radius * (Math.PI / 2);
  return {
    ...report,
    flats: { left: wall(flats.left, depth, radius), right: wall(flats.right, depth, radius) },
    contour: {
      areaLostUm2: wider(contour.areaLostUm2, area),
      areaGainedUm2: wider(contour.areaGainedUm2, area),
      largestRecessionUm: wider(contour.largestRecessionUm, depth),
      largestGrowthUm: wider(contour.largestGrowthUm, depth),
    },
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
  const laterUm = spread(flat.laterUm, depth, radius);
  const standard = (laterUm.expanded ** 2 - flat.laterUm.expanded ** 2) ** 0.5 / 2;
  return {
    ...flat,
    laterUm,
    changeUm: { ...flat.changeUm, expanded: Math.hypot(flat.changeUm.expanded, 2 * standard) },
    decisionThresholdUm,
    detectionLimitUm,
    detected: flat.laterUm.value > decisionThresholdUm,
    budget: [
      ...(flat.budget ?? []),
      {
        source: 'spread between specimens',
        standard,
        type: 'B',
        degreesOfFreedom: null,
        note: 'tip radii of like styluses; own assumption, no source',
      },
    ],
  };
}

/** A depth that may be wrong both ways, as widths: lopsided, because a width grows with the root of its depth. */
function spread(width: Measured, depth: number, radius: number): Measured {
  const middle = depthOf(width.value, radius);
  const low = widthOf(middle - 2 * depth, radius);
  const high = widthOf(middle + 2 * depth, radius);
  return {
    value: width.value,
    expanded: Math.hypot(width.expanded, (high - low) / 2),
    low: Math.max(
      0,
      width.value - Math.hypot(width.value - low, width.value - (width.low ?? width.value - width.expanded)),
    ),
    high:
      width.value +
      Math.hypot(high - width.value, (width.high ?? width.value + width.expanded) - width.value),
  };
}

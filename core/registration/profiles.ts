import {
  answer,
  refuse,
  type BudgetLine,
  type ComparisonAnswer,
  type FlatPair,
  type Outcome,
} from '../../shared/index.ts';
import type { UsedScale } from '../compare.ts';
import { edgeOffsets, polarAt, runsBeyond, type Offsets, type Run } from '../edge/offsets.ts';
import { median } from '../fit/select.ts';
import { combineBudget, DECISION_FACTOR, MISS_FACTOR } from '../uncertainty/index.ts';
import { KAPPA, SIGMA, WEIGHT, type Band } from '../tip/capture-model.ts';
import { isExplained, shankRatio } from '../tip/checks.ts';
import type { CleanSingle } from '../tip/clean-single.ts';
import { contourOf } from '../tip/contour.ts';
import { fitPair, localParameters, rotationBetween } from '../tip/pair.ts';
import { poseOf, weighAlong, wrapDeg } from '../tip/pose.ts';
import { edgeWidth } from '../tip/sharpness.ts';
import { isSilhouette } from '../tip/silhouette.ts';
import { OFFSET_STEP_UM, suspicionsOf, tipZone } from '../tip/suspect.ts';
import { SIDES, type Side } from '../tip/walls.ts';
import { wedgeOf } from '../tip/wedge.ts';

/**
 * Two captures of a tip that is no rounded wedge. No shape is asked for: the flanks alone lay the captures over each other,
 * and what counts is how far the later edge lies behind the baseline's, place by place (recession profile). Both edges
 * are read against one and the same reference outline, so that whatever the tip's shape is cancels.
 *
 * What it cannot tell is how wide a flat was in the baseline: a flat of width w0 that loses the area a becomes
 * (w0^3 + 12 R a)^(1/3) wide on an arc of radius R. Widths are stated as if the baseline had none, and the interval
 * holds every w0 up to R.
 */
type Report = Omit<
  ComparisonAnswer,
  'ok' | 'id' | 'reportVersion' | 'engineVersion' | 'unit' | 'method' | 'timingMs'
>;

/** Flank beyond the tip zone that must be seen on each side, um; else the outer quarter of what is seen. */
const LEAST_FLANK = 15;
/** Edges of one part lie this close where nothing changed, um (median over the outline). */
const MOST_APART = 0.6;
const MOST_RESIDUAL = 1.2;
const LEAST_SEEN = 0.85;
/** Shanks of one part by two stated scales: the logarithm of their ratio. */
const MOST_SHANK = 0.06;
/** Polar angles of a wall: its direction and so far to both sides, degrees. */
const WALL = { right: 45, left: 135 } as const;
const AROUND = 30;
/** Neighbouring readings of an edge share their noise over about this length, um. */
const TOGETHER = 3;
const TRIAL_UM = 6;
/** A comparison that finds nothing and could not have found a flat of this many tip radii says nothing. */
const LEAST_TOLD = 0.8;
/** What stands proud of the baseline by this much, um, and along this much of the outline, um, was put there. */
const PROUD = 1.5;
const PROUD_LENGTH = 2;

export function compareProfiles(
  baseline: CleanSingle,
  later: CleanSingle,
  scales: readonly UsedScale[],
  ratioSd: number,
): Outcome<Report> {
  const why = (reason: string): Outcome<never> =>
    refuse(
      'tip-not-found',
      `The outline is not that of a rounded tip between two straight flanks, and without that ${reason}. Check that both pictures show the tip from the front, clean, and alone.`,
    );
  const fits = [baseline.fit, later.fit] as const;
  const shank = shankRatio(fits[0].prepared, fits[1].prepared);
  if (shank !== null && Math.abs(Math.log(shank)) > MOST_SHANK)
    return refuse(
      'not-the-same-part',
      'The two shanks are not equally wide. Check that both pictures show the same stylus, in the same view, and that both scales are right.',
    );
  const silhouettes = fits.every(({ prepared, problem, fitted }) =>
    isSilhouette(prepared, problem.parts[0].model, fitted.p),
  );
  // The same light does not fall twice: what it does to an edge is as large as a flat, and no shape tells the two apart.
  if (!silhouettes) return why('both pictures have to be taken against the light, which they were not');
  const p0 = fits[0].fitted.p;
  const { knots } = fits[0].problem.parts[0].model;
  const reach = knots[knots.length - 1];
  const from = Math.min(tipZone(p0), Math.max(0.75 * reach, reach - LEAST_FLANK));
  const masks = fits.map((fit) => flanksOnly(fit.fitted.p, from));
  const pair = fitPair(fits[0], fits[1], { ratioSd, masks: [masks[0], masks[1]], uncut: true });
  const parameters = ([0, 1] as const).map((i) => localParameters(pair, i));
  const captured = ([0, 1] as const).map((i) => ({
    prepared: pair.captures[i],
    problem: { ...pair.problem, parts: [pair.problem.parts[i]] },
    fitted: { ...pair.fitted, residuals: [pair.fitted.residuals[i]] },
  }));
  if (!captured.every(isExplained))
    return why('the flanks have to be clean and straight, which they are not');
  const offsets = ([0, 1] as const).map((i) =>
    edgeOffsets(pair.captures[i], pair.problem.parts[i].model, parameters[i], OFFSET_STEP_UM),
  );
  const wedge = wedgeOf(parameters[0]);
  const places = recessionOf(offsets[0], offsets[1]);
  const seen = places.filter((x) => Number.isFinite(x.recession));
  if (seen.length < LEAST_SEEN * places.length)
    return why('the edge has to be seen all along, which it is not');
  const outside = seen.filter((x) => Math.abs(x.s) > from).map((x) => x.recession);
  const residual = Math.sqrt(outside.reduce((sum, v) => sum + v * v, 0) / Math.max(1, outside.length));
  const apart = median(seen.map((x) => Math.abs(x.recession)));
  if (outside.length < 10 || !(residual < MOST_RESIDUAL) || !(apart < MOST_APART))
    return why('the two outlines have to lie over each other, which they do not');
  const noise = Math.max(0.06, 1.4826 * median(outside.map(Math.abs)));
  const radius = fits[0].prepared.located.radiusPx * fits[0].prepared.umPerPx;
  const walls = SIDES.map((side) => {
    const near = seen
      .map((x) => ({ ...x, polar: polarAt(wedge, x.s) }))
      .filter((x) => Math.abs(x.polar - WALL[side]) <= AROUND);
    return { side, ...lostAt(near, noise) };
  });
  const flats = Object.fromEntries(
    walls.map((wall) => [wall.side, flatOf(wall, radius, noise, residual, scales)]),
  ) as Record<Side, FlatPair>;
  if (SIDES.every((side) => !flats[side].detected && flats[side].detectionLimitUm > LEAST_TOLD * radius))
    return why('the edges have to lie still enough to tell a flat of most of the tip, which they do not');
  const spread = (length: number): number => noise * Math.sqrt(TOGETHER * length) + 0.3 * residual * length;
  const threshold = Math.max(0.5, 5 * noise);
  const zone = seen.filter((x) => Math.abs(x.s) <= from);
  const growth = zone.filter((x) => x.recession < -threshold);
  const gained = growth.reduce((sum, x) => sum - x.recession * OFFSET_STEP_UM, 0);
  const lost = walls.filter((w) => flats[w.side].detected);
  const area = lost.reduce((sum, w) => sum + w.area, 0);
  const deepest = Math.max(0, ...lost.map((w) => w.deepest));
  const n = pair.problem.size;
  const sd = (i: number): number => Math.sqrt(Math.max(0, pair.fitted.covariance[i * (n + 1)]));
  const degree = 180 / Math.PI;
  const turn = rotationBetween(pair);
  const ratio = pair.captures[0].umPerPx / (pair.captures[1].umPerPx * (1 + parameters[1][KAPPA]));
  return answer({
    registration: {
      rotationDeg: wrapDeg(turn.radians * degree),
      scaleRatio: ratio,
      residualUm: residual,
      rotationDegExpanded: 4 * turn.standard * degree,
      scaleRatioExpanded: 2 * ratio * sd(pair.maps[1][KAPPA]),
      statedScaleRatio: pair.captures[0].umPerPx / pair.captures[1].umPerPx,
    },
    sharpness: {
      baselineEdgeUm: edgeWidth(parameters[0][SIGMA], parameters[0][WEIGHT]),
      laterEdgeUm: edgeWidth(parameters[1][SIGMA], parameters[1][WEIGHT]),
    },
    // read off the outline's two flanks and its apex; no arc was fitted
    tip: { radiusUm: { value: radius, expanded: 0.4 * radius }, arcDeg: 0 },
    contour: {
      areaLostUm2: {
        value: area,
        expanded: 2 * (lost.length > 0 ? spread(lost.length * TRIAL_UM) : spread(TRIAL_UM)),
      },
      areaGainedUm2: {
        value: gained,
        expanded: 2 * spread(Math.max(TRIAL_UM, growth.length * OFFSET_STEP_UM)),
      },
      largestRecessionUm: { value: deepest, expanded: 2 * Math.hypot(noise, residual) },
      largestGrowthUm: {
        value: Math.max(0, ...growth.map((x) => -x.recession)),
        expanded: 2 * Math.hypot(noise, residual),
      },
    },
    flats,
    suspicions: suspicionsOf(proudRuns(places, Math.max(PROUD, threshold, 3 * residual)), parameters[0]),
    warnings: [
      {
        code: 'no-wedge',
        message:
          'This tip is no rounded wedge, so no shape could be fitted to it. Only the change between the two outlines was measured: the widths hold for a baseline without flats, what is missing is taken for wear even if it broke off, and the uncertainty is wider.',
      },
    ],
    drawing: {
      baselinePose: poseOf(parameters[0], pair.captures[0].umPerPx),
      laterPose: poseOf(parameters[1], pair.captures[1].umPerPx),
      baselineContour: contourOf(wedge, offsets[0]),
      laterContour: contourOf(wedge, offsets[1]),
      profile: seen.map((x) => [polarAt(wedge, x.s), x.recession, 2 * noise]),
    },
  });
}

/** Weight 1 on the flanks beyond `from` um along the outline, 0 on the tip. */
function flanksOnly(p: ArrayLike<number>, from: number): (band: Band) => Float64Array {
  return weighAlong(p, (s) => (Math.abs(s) > from ? 1 : 0));
}

type Place = { readonly s: number; readonly recession: number };

/** Baseline's edge minus the later one's along the reference outline's normal, um: material gone is positive. */
function recessionOf(baseline: Offsets, later: Offsets): Place[] {
  const step = baseline.s[1] - baseline.s[0];
  return Array.from(later.s, (s, i) => {
    const at = (s - baseline.s[0]) / step;
    const j = Math.min(baseline.s.length - 2, Math.max(0, Math.floor(at)));
    const before = baseline.delta[j] + (at - j) * (baseline.delta[j + 1] - baseline.delta[j]);
    return { s, recession: before - later.delta[i] };
  });
}

/**
 * Where the later outline stands proud of the baseline's: no wear and no chip adds material, so this is residue. What is
 * missing says nothing of the kind without a shape to judge by.
 */
function proudRuns(places: readonly Place[], threshold: number): Run[] {
  const s = Float64Array.from(places, (x) => x.s);
  const growth = Float64Array.from(places, (x) => -x.recession);
  return runsBeyond(s, growth, threshold, PROUD_LENGTH).filter((run) => run.extreme > 0);
}

/** The longest run of recession beyond twice the noise near one wall: its area, um^2, length and depth, um. */
function lostAt(places: readonly Place[], noise: number): { area: number; length: number; deepest: number } {
  let best = { area: 0, length: 0, deepest: 0 };
  let run = best;
  for (const { recession } of places) {
    run =
      recession > 2 * noise
        ? {
            area: run.area + recession * OFFSET_STEP_UM,
            length: run.length + OFFSET_STEP_UM,
            deepest: Math.max(run.deepest, recession),
          }
        : { area: 0, length: 0, deepest: 0 };
    if (run.area > best.area) best = run;
  }
  return best;
}

function flatOf(
  wall: { area: number; length: number },
  radius: number,
  noise: number,
  residual: number,
  scales: readonly UsedScale[],
): FlatPair {
  const spread = (length: number): number => noise * Math.sqrt(TOGETHER * length) + 0.3 * residual * length;
  const width = (area: number): number => Math.cbrt(12 * radius * Math.max(0, area));
  const u0 = spread(TRIAL_UM);
  const u = spread(Math.max(TRIAL_UM, wall.length));
  const value = width(wall.area);
  const detected = wall.area > DECISION_FACTOR * u0;
  const low = detected ? width(wall.area - 2 * u) : 0;
  const top = width(wall.area + 2 * u);
  const high = Math.cbrt(radius ** 3 + top ** 3);
  const line = (source: string, standard: number, note?: string): BudgetLine => ({
    source,
    standard,
    type: 'B',
    degreesOfFreedom: null,
    ...(note === undefined ? {} : { note }),
  });
  const edges = line('edges and registration', Math.max(top - value, value - low) / 2);
  const arc = line('radius of the arc', (0.2 * value) / 3, 'read off the flanks: 20 % assumed');
  const scale = line('scale', value * scales[1].relative, scales[1].note);
  const before = line(
    "the baseline's own flat",
    Math.max(0, high - top) / Math.sqrt(3),
    'unknown without a fitted shape: rectangular from none to the tip radius',
  );
  const least = Math.max(0, top - (high - radius));
  const changeBudget = [
    edges,
    arc,
    scale,
    line("the baseline's own flat", least / Math.sqrt(3), before.note),
  ];
  const expanded = (lines: BudgetLine[]): number => Math.max(combineBudget(lines).expanded, value - low);
  return {
    baselineUm: { value: 0, expanded: radius, low: 0, high: radius },
    laterUm: { value, expanded: Math.max(expanded([edges, arc, scale, before]), high - value), low, high },
    changeUm: {
      value,
      expanded: Math.max(expanded(changeBudget), least),
      low: Math.max(0, value - least),
      high: top,
    },
    decisionThresholdUm: width(DECISION_FACTOR * u0),
    detectionLimitUm: width((DECISION_FACTOR + MISS_FACTOR) * u0),
    detected,
    budget: [edges, arc, scale, before],
    changeBudget,
  };
}

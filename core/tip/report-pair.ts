import {
  answer,
  refuse,
  type BudgetLine,
  type ComparisonAnswer,
  type FlatPair,
  type Measured,
  type Outcome,
  type Warning,
} from '../../shared/index.ts';
import type { UsedScale } from '../compare.ts';
import { FIT_SOURCE, measuredFrom } from '../uncertainty/index.ts';
import { polarAt, wornDepth } from '../edge/offsets.ts';
import type { Registered } from '../registration/register.ts';
import { KAPPA, SIGMA, WEIGHT } from './capture-model.ts';
import { rotationBetween } from './pair.ts';
import { contourOf } from './contour.ts';
import { glare } from './glare.ts';
import { poseOf, wrapDeg } from './pose.ts';
import { edgeWidth } from './sharpness.ts';
import { isSilhouette } from './silhouette.ts';
import { mirrorOfBoth, wideBacklight, wideLightOf, withoutMirror, type WideLight } from './wide-light.ts';
import { suspicionsOf } from './suspect.ts';
import {
  measuredWidth,
  POSE_RELATIVE,
  besideLine,
  readWalls,
  SIDES,
  wallBudget,
  type Side,
  type WallFit,
} from './walls.ts';
import { wedgeOf, type Wedge } from './wedge.ts';

const DEGREE = 180 / Math.PI;

type Part = Omit<
  ComparisonAnswer,
  'ok' | 'id' | 'reportVersion' | 'engineVersion' | 'unit' | 'method' | 'timingMs'
>;

/** Turns a registered pair into the report's numbers; refuses where neither picture shows either wall. */
export function reportPair(r: Registered, baselineScale: UsedScale, laterScale: UsedScale): Outcome<Part> {
  const { pair } = r;
  const { problem, fitted, maps } = pair;
  const wedges = r.parameters.map(wedgeOf) as [Wedge, Wedge];
  const silhouettes = pair.captures.every((one, i) =>
    isSilhouette(one, problem.parts[i].model, r.parameters[i]),
  );
  const inflation = misfitInflation(r, silhouettes);
  const read = ([0, 1] as const).map((i) => {
    const doubt = (side: Side): number =>
      glare(pair.captures[i], problem.parts[i].model, r.parameters[i], side);
    return readWalls(problem, fitted, maps[i], inflation, { left: doubt('left'), right: doubt('right') });
  });
  const lights = silhouettes ? lightsBehind(r) : null;
  const bare = read.map((both, i) => withoutMirror(wedges[i], both, lights && lights[i]));
  const walls = bare.map((one) => one.walls);
  const mirrors = bare.map((one) => one.lines);
  const hidden = walls.map((both, i) => SIDES.filter((side) => isHidden(wedges[i], both[side])));
  if (hidden.every((sides) => sides.length === SIDES.length))
    return refuse(
      'registration-failed',
      'Neither picture shows the places of the two walls on the tip: reflections or dirt hide them. Clean the tip, take it against the light, and compare again.',
    );
  const seen = walls.flatMap((both, i) =>
    SIDES.filter((side) => !hidden[i].includes(side)).map((side) => both[side].width / wedges[i].radius),
  );
  if (Math.max(...seen) > MOST_FLAT)
    return refuse(
      'registration-failed',
      'Together the two captures ask for a flat wider than the tip has room for: they show two different parts, or something large broke off or covers the tip in one of them. Check that both are of one stylus, clean the tip and take the picture again; if it stays, look at each picture by itself.',
    );
  const flats = Object.fromEntries(
    SIDES.map((side) => [side, flatPair(r, side, wedges, walls, mirrors, [baselineScale, laterScale])]),
  ) as Record<Side, FlatPair>;
  const chips = suspicionsOf(r.runs, r.parameters[1]);
  const ratio = pair.captures[0].umPerPx / (pair.captures[1].umPerPx * (1 + r.parameters[1][KAPPA]));
  const sd = (i: number): number => Math.sqrt(Math.max(0, fitted.covariance[i * (problem.size + 1)]));
  const turn = rotationBetween(pair, inflation);
  return answer({
    registration: {
      rotationDeg: wrapDeg(turn.radians * DEGREE),
      scaleRatio: ratio,
      residualUm: r.residual,
      rotationDegExpanded: 2 * turn.standard * DEGREE,
      scaleRatioExpanded: 2 * ratio * sd(maps[1][KAPPA]),
      statedScaleRatio: pair.captures[0].umPerPx / pair.captures[1].umPerPx,
    },
    sharpness: {
      baselineEdgeUm: edgeWidth(r.parameters[0][SIGMA], r.parameters[0][WEIGHT]),
      laterEdgeUm: edgeWidth(r.parameters[1][SIGMA], r.parameters[1][WEIGHT]),
    },
    tip: {
      ...radiusOf(fitted.p[0], fitted.covariance[0], inflation, baselineScale),
      arcDeg: arcUsed(wedges[1], walls[1]),
    },
    contour: contourNumbers(r, wedges, walls),
    flats,
    suspicions: chips,
    warnings: [
      ...warningsOf(r, baselineScale, laterScale, sd(maps[1][KAPPA])),
      ...(lights ? wideBacklight(lights) : [NOT_BACKLIT]),
      ...hidden.flatMap((sides, i) => sides.map((side) => hiddenWall(side, i))),
    ],
    drawing: {
      baselinePose: poseOf(r.parameters[0], pair.captures[0].umPerPx),
      laterPose: poseOf(r.parameters[1], pair.captures[1].umPerPx),
      baselineContour: contourOf(wedges[0], r.offsets[0]),
      laterContour: contourOf(wedges[1], r.offsets[1]),
      profile: profileOf(r, wedges),
    },
  });
}

/** A flat this wide, in tip radii, leaves nothing of the arc to measure it by. */
const MOST_FLAT = 1.12;

/**
 * The fit's covariance knows camera noise and errors shared by neighbouring pixels. What the outline shows beyond that
 * is seen in the offsets. The least factors come from the laboratory's table and from no theory: a wedge with a smooth
 * inside is not the whole truth, least of all for a part lit from the front, with dark rims and glints.
 */
export function misfitInflation(r: { offsets: readonly { noise: number }[] }, silhouettes: boolean): number {
  const worst = Math.max(...r.offsets.map((o) => o.noise));
  const seen = Math.min(3, Math.max(1, worst / 0.12));
  return (silhouettes ? LEAST_DARK : LEAST_LIT) * seen;
}
const LEAST_DARK = 1.2;
const LEAST_LIT = 2.4;

function flatPair(
  r: Registered,
  side: Side,
  wedges: [Wedge, Wedge],
  walls: Record<Side, WallFit>[],
  mirrors: Record<Side, BudgetLine[]>[],
  scales: [UsedScale, UsedScale],
): FlatPair {
  const relative = scales.map((s) => ({ scale: s.relative, scaleNote: s.note, pose: POSE_RELATIVE }));
  const budgets = [0, 1].map((i) => [
    ...wallBudget(wedges[i], walls[i][side], relative[i], r.beside[i as 0 | 1][side]),
    ...mirrors[i][side],
  ]);
  const mirror = mirrorOfBoth(mirrors.flatMap((one) => one[side]));
  const measured = [0, 1].map((i) => measuredWidth(wedges[i], walls[i][side], budgets[i]));
  return {
    baselineUm: measured[0],
    laterUm: measured[1],
    ...changeOf(r, side, measured, budgets, walls, mirror),
    decisionThresholdUm: walls[1][side].thresholdWidth,
    detectionLimitUm: walls[1][side].limitWidth,
    detected: walls[1][side].detected,
    baselineDecisionThresholdUm: walls[0][side].thresholdWidth,
    baselineDetectionLimitUm: walls[0][side].limitWidth,
    directionDeg: side === 'right' ? 45 + wedges[1].wallRight * DEGREE : 135 - wedges[1].wallLeft * DEGREE,
    budget: budgets[1],
    baselineBudget: budgets[0],
  };
}

/** A person's light is mostly the same in both pictures: where one does not tell, the other does. */
function lightsBehind({ pair, parameters }: Registered): [WideLight, WideLight] {
  const [a, b] = pair.captures.map((one, i) => wideLightOf(one, parameters[i]));
  return [a.shift > 0 ? a : b, b.shift > 0 ? b : a];
}

/** Later minus baseline: fit noise with its correlation, the scale only on the difference, pose for each. */
function changeOf(
  r: Registered,
  side: Side,
  measured: Measured[],
  budgets: BudgetLine[][],
  walls: Record<Side, WallFit>[],
  mirror: BudgetLine[],
): { changeUm: Measured; changeBudget: BudgetLine[] } {
  const { maps, fitted, problem } = r.pair;
  const k = side === 'left' ? 6 : 7;
  const n = problem.size;
  const [b, l] = [maps[0][k], maps[1][k]];
  const [vb, vl] = [fitted.covariance[b * n + b], fitted.covariance[l * n + l]];
  const both = walls[0][side].detected && walls[1][side].detected && vb > 0 && vl > 0 && vb < 1 && vl < 1;
  const correlation = both ? fitted.covariance[b * n + l] / Math.sqrt(vb * vl) : 0;
  const change = measured[1].value - measured[0].value;
  const [fb, fl] = budgets.map((lines) => lines[0].standard);
  const fit = Math.sqrt(Math.max(0, fb * fb + fl * fl - 2 * correlation * fb * fl));
  const scale = both
    ? Math.abs((change * budgets[1][1].standard) / Math.max(1e-9, measured[1].value))
    : Math.hypot(budgets[0][1].standard, budgets[1][1].standard);
  const pose = Math.hypot(budgets[0][2].standard, budgets[1][2].standard);
  const lines: BudgetLine[] = [
    { ...budgets[1][0], standard: fit, note: 'both pictures, with what their joint fit shares' },
    { ...budgets[1][1], standard: scale, note: both ? 'of the difference only' : 'of both widths' },
    { ...budgets[1][2], standard: pose, note: 'of both pictures' },
    ...besideLine(Math.hypot(r.beside[0][side], r.beside[1][side])),
    ...mirror,
  ];
  if (both) return { changeUm: measuredFrom(change, lines), changeBudget: lines };
  const end = (m: Measured, which: 'low' | 'high'): number => Math.abs((m[which] ?? m.value) - m.value);
  const low = change - Math.hypot(end(measured[1], 'low'), end(measured[0], 'high'));
  const high = change + Math.hypot(end(measured[1], 'high'), end(measured[0], 'low'));
  const expanded = Math.max(change - low, high - change);
  return { changeUm: { value: change, expanded, low, high }, changeBudget: lines };
}

/** The radius with its budget; of a pair or of one capture. */
export function radiusOf(
  radius: number,
  variance: number,
  inflation: number,
  scale: UsedScale,
): { radiusUm: Measured; budget: BudgetLine[] } {
  const budget: BudgetLine[] = [
    fitLine(Math.sqrt(Math.max(0, variance)) * inflation),
    {
      source: 'scale',
      standard: radius * scale.relative,
      type: 'B',
      degreesOfFreedom: null,
      note: scale.note,
    },
  ];
  return { radiusUm: measuredFrom(radius, budget), budget };
}
const fitLine = (standard: number): BudgetLine => ({
  source: FIT_SOURCE,
  standard,
  type: 'A',
  degreesOfFreedom: null,
});

/** Angle of arc that carried the radius: between the flanks' tangent points, the flats left out. Degrees. */
export function arcUsed(w: Wedge, walls: Record<Side, WallFit>): number {
  const all = 180 - (w.halfLeft + w.halfRight) * DEGREE;
  const flats = SIDES.reduce(
    (sum, side) => sum + 2 * Math.asin(Math.min(1, walls[side].width / (2 * w.radius))) * DEGREE,
    0,
  );
  return Math.max(0, all - flats);
}

/** Areas and extremes beyond their thresholds: flats from the model, chips and residue from what it leaves. */
function contourNumbers(
  r: Registered,
  wedges: [Wedge, Wedge],
  walls: Record<Side, WallFit>[],
): ComparisonAnswer['contour'] {
  let lost = 0;
  let lostVariance = 0;
  let deepest = 0;
  let deepestU = 0.1;
  for (const side of SIDES) {
    const [b, l] = [walls[0][side], walls[1][side]];
    const u = Math.hypot(b.areaFit, l.areaFit);
    lostVariance += u * u;
    if (l.area - b.area > 3.3 * u) {
      lost += l.area - b.area;
      if (l.depth - b.depth > deepest) {
        deepest = l.depth - b.depth;
        deepestU = u / Math.max(l.width, 3);
      }
    }
  }
  let gained = 0;
  let highest = 0;
  const step = r.change.s[1] - r.change.s[0];
  const noise = r.change.noise;
  let gainedVariance = (3 * noise) ** 2;
  for (const run of r.runs) {
    let sum = 0;
    r.change.s.forEach((s, i) => {
      if (s >= run.from && s <= run.to && Number.isFinite(r.change.value[i]))
        sum += Math.abs(r.change.value[i]) * step;
    });
    if (run.extreme < 0) {
      lost += sum;
      lostVariance += (noise * (run.to - run.from)) ** 2;
      // where a chip lies on a flat the flat's own recession counts, too
      const here = -run.extreme + Math.max(0, wornDepth(wedges[1], run.at) - wornDepth(wedges[0], run.at));
      if (here > deepest) {
        deepest = here;
        deepestU = Math.max(noise, 0.15);
      }
    } else {
      gained += sum;
      gainedVariance += (noise * (run.to - run.from)) ** 2;
      highest = Math.max(highest, run.extreme);
    }
  }
  const budgets = {
    areaLostUm2: [fitLine(Math.sqrt(lostVariance)), share(0.02, lost)],
    areaGainedUm2: [fitLine(Math.sqrt(gainedVariance)), share(0.03, gained)],
    largestRecessionUm: [fitLine(deepestU), share(0.02, deepest)],
    largestGrowthUm: [fitLine(Math.max(noise, 0.15)), share(0.03, highest)],
  };
  return {
    areaLostUm2: measuredFrom(lost, budgets.areaLostUm2),
    areaGainedUm2: measuredFrom(gained, budgets.areaGainedUm2),
    largestRecessionUm: measuredFrom(deepest, budgets.largestRecessionUm),
    largestGrowthUm: measuredFrom(highest, budgets.largestGrowthUm),
    budgets,
  };
}
const share = (part: number, value: number): BudgetLine => ({
  source: 'scale and pose',
  standard: part * value,
  type: 'B',
  degreesOfFreedom: null,
  note: `${100 * part} % of the value, own assumption, no source`,
});

function profileOf(r: Registered, wedges: [Wedge, Wedge]): [number, number, number][] {
  const out: [number, number, number][] = [];
  r.change.s.forEach((s, i) => {
    const left = r.change.value[i];
    if (!Number.isFinite(left)) return;
    const beyond = Math.abs(left) > 3 * r.change.noise ? left : 0;
    const recession = wornDepth(wedges[1], s) - wornDepth(wedges[0], s) - beyond;
    out.push([polarAt(wedges[0], s), recession, 2 * r.change.noise]);
  });
  return out;
}

/** Can the pictures show no usual flat on this wall of this capture, mostly because something covers it? */
function isHidden(wedge: Wedge, wall: WallFit): boolean {
  return wall.limitWidth > HIDDEN * wedge.radius || wall.areaFit > hiddenArea(wedge);
}

const hiddenWall = (side: Side, picture: number): Warning => ({
  code: 'wall-hidden',
  message: `The ${side} wall's place on the tip cannot be judged in the ${picture === 0 ? 'baseline' : 'later picture'}: something covers it, or the picture is too soft there. Clean the tip and take the picture again.`,
});
/** A flat of this width, in tip radii, would have been missed; and the area that goes with it (w^3/12R). */
const HIDDEN = 0.8;
const hiddenArea = (w: Wedge): number => (HIDDEN * w.radius) ** 3 / (12 * w.radius) / 3;

const NOT_BACKLIT: Warning = {
  code: 'not-backlit',
  message:
    'At least one capture is no silhouette: light comes off the part itself, right up to its edge. Backlit pictures give sharper outlines and smaller uncertainties.',
};

function warningsOf(r: Registered, b: UsedScale, l: UsedScale, kappaSd: number): Warning[] {
  const warnings: Warning[] = [];
  const [sb, sl] = [0, 1].map((i) => edgeWidth(r.parameters[i][SIGMA], r.parameters[i][WEIGHT]));
  const unequal = Math.max(sb / sl, sl / sb);
  if (unequal > 1.25)
    warnings.push({
      code: 'unequal-focus',
      message: `The captures are not equally sharp (edges ${sb.toFixed(1)} and ${sl.toFixed(1)}\u00a0µm wide). The fit allows for it; the softer one sets the limit.`,
    });
  const kappa = r.parameters[1][KAPPA];
  const stated = Math.hypot(b.relative, l.relative, 3e-4);
  if (Math.abs(kappa) > 2.5 * Math.hypot(stated, kappaSd))
    warnings.push({
      code: 'scales-disagree',
      message: `Laid over each other the captures differ in scale by ${(100 * kappa).toFixed(1)} % from what was stated. Check both scales.`,
    });
  if (r.baselineRuns.length > 0)
    warnings.push({
      code: 'baseline-departs',
      message:
        'The baseline itself departs from a smooth outline in places (dirt, a chip, or an unusual shape); they were left out.',
    });
  if (!r.pair.fitted.converged)
    warnings.push({
      code: 'fit-unsettled',
      message: 'The joint fit did not settle fully; look at the overlay before you trust the numbers.',
    });
  return warnings;
}

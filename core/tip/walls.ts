import type { BudgetLine, Measured } from '../../shared/index.ts';
import {
  combineBudget,
  DECISION_FACTOR,
  FIT_SOURCE,
  MISS_FACTOR,
  POSE_SOURCE,
} from '../uncertainty/index.ts';
import { covarianceIf, type Fitted } from './fit.ts';
import type { Problem } from './problem.ts';
import { depthOfWidth, flatWidth, lostArea, wedgeOf, type Wedge } from './wedge.ts';

/**
 * Flats as reported values. What a picture really tells is the *area* a, um^2, that a flat removes: its signal is
 * proportional to it, and its uncertainty u(a) = w u(d) hardly depends on the flat's size, while u(d) and u(w) blow
 * up as the flat vanishes (a = w^3/12R while the flat lies on the arc). So thresholds and intervals are formed in a
 * and carried over to d and w through the wedge's own geometry; near w = 0 they are lopsided, as they must be.
 */
export type Side = 'left' | 'right';
export const SIDES: readonly Side[] = ['left', 'right'];

export type WallFit = {
  readonly side: Side;
  readonly width: number;
  readonly depth: number;
  readonly area: number;
  /** Standard uncertainty of the removed area from the fit alone, um^2. */
  readonly areaFit: number;
  /** Decision threshold and detection limit as widths, um; the threshold also as depth. */
  readonly thresholdWidth: number;
  readonly thresholdDepth: number;
  readonly limitWidth: number;
  readonly detected: boolean;
};

/**
 * Relative standard uncertainty of a width for a pose within 2 degrees: hidden depth (l/2) sin 45 sin a with a
 * rectangular in 0..2 degrees has the spread 0.0036 l; with dw = (w/2d) dd and d = w^2/8R this is 0.014 R/w * l, and
 * l = 0.7 w (assumed) at the middle of the range w = 0.45 R gives 2.2 %.
 */
export const POSE_RELATIVE = 0.022;

/** Parts of the budget that are relative to the width. */
export type Relative = { readonly scale: number; readonly scaleNote: string; readonly pose: number };

const trialWidths = (radius: number): number => Math.min(0.45 * radius, Math.max(4, 0.25 * radius));

/** u(a) of both walls of one capture when both flats have the width `trial`, um^2. */
function areaUncertainty(
  problem: Problem,
  fitted: Fitted,
  map: Int32Array,
  trial: number,
): { left: number; right: number } {
  const p = fitted.p.slice();
  const wedge = wedgeOf(Array.from({ length: 8 }, (_, i) => p[map[i]]));
  p[map[6]] = depthOfWidth(wedge, 'left', trial);
  p[map[7]] = depthOfWidth(wedge, 'right', trial);
  const c = covarianceIf(problem, p, fitted.weights);
  const u = (k: number): number => trial * Math.sqrt(Math.max(0, c[map[k] * (problem.size + 1)]));
  return { left: u(6), right: u(7) };
}

/**
 * Depth, width and area of one wall's flat side by side, for quick conversions. Depths go with the square of the index,
 * so that width (about the square root of the depth) is evenly spread.
 */
type Table = { readonly width: Float64Array; readonly area: Float64Array };
const TABLE_SIZE = 161;
const tables = new WeakMap<Wedge, Record<Side, Table>>();

function tableOf(wedge: Wedge, side: Side): Table {
  let both = tables.get(wedge);
  if (!both) {
    both = { left: makeTable(wedge, 'left'), right: makeTable(wedge, 'right') };
    tables.set(wedge, both);
  }
  return both[side];
}

function makeTable(wedge: Wedge, side: Side): Table {
  const most = depthOfWidth(wedge, side, 1.25 * wedge.radius);
  const width = new Float64Array(TABLE_SIZE);
  const area = new Float64Array(TABLE_SIZE);
  let before = 0;
  for (let i = 1; i < TABLE_SIZE; i++) {
    const depth = most * (i / (TABLE_SIZE - 1)) ** 2;
    width[i] = flatWidth(wedge, side, depth);
    // dA/dd = w and w ~ sqrt(d): exact for w = c sqrt(d) between two nodes up to a few 1e-4
    area[i] = area[i - 1] + (depth - before) * (i === 1 ? (2 / 3) * width[1] : (width[i] + width[i - 1]) / 2);
    before = depth;
  }
  return { width, area };
}

function lookUp(from: Float64Array, to: Float64Array, value: number): number {
  if (!(value > 0)) return 0;
  const n = from.length;
  let low = 0;
  let high = n - 1;
  if (value >= from[high]) return to[high];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (from[middle] <= value) low = middle;
    else high = middle;
  }
  return to[low] + ((to[high] - to[low]) * (value - from[low])) / (from[high] - from[low]);
}

const widthOfArea = (wedge: Wedge, side: Side, area: number): number => {
  const t = tableOf(wedge, side);
  return area <= t.area[1] && area > 0
    ? t.width[1] * Math.cbrt(area / t.area[1])
    : lookUp(t.area, t.width, area);
};
const areaOfWidth = (wedge: Wedge, side: Side, width: number): number => {
  const t = tableOf(wedge, side);
  return width <= t.width[1]
    ? t.area[1] * (Math.max(0, width) / t.width[1]) ** 3
    : lookUp(t.width, t.area, width);
};

/** A flat that covers the arc is none that was seen: nothing of the unworn tip is left to measure it by. In tip radii. */
const WIDEST_LIMIT = 1.05;

/**
 * Reads both walls of one capture out of a fit. `inflation` multiplies the fit's noise (model misfit seen), `doubt` (1 or
 * more) the threshold of that wall, and by its root the noise of a flat that passes it.
 */
export function readWalls(
  problem: Problem,
  fitted: Fitted,
  map: Int32Array,
  inflation: number,
  doubt: Readonly<Record<Side, number>>,
): Record<Side, WallFit> {
  const local = Array.from({ length: 8 }, (_, i) => fitted.p[map[i]]);
  const wedge = wedgeOf(local);
  const trial = trialWidths(wedge.radius);
  const small = areaUncertainty(problem, fitted, map, trial);
  const wall = (side: Side): WallFit => {
    const k = side === 'left' ? 6 : 7;
    const depth = Math.max(0, local[k]);
    const width = flatWidth(wedge, side, depth);
    const own = Math.sqrt(Math.max(0, fitted.covariance[map[k] * (problem.size + 1)])) * width;
    const u0 = small[side] * inflation * doubt[side];
    const noise = own * inflation * Math.sqrt(doubt[side]);
    const areaFit = width > trial ? Math.max(noise, (0.5 * u0) / doubt[side]) : u0;
    const limitWidth = widthOfArea(wedge, side, (DECISION_FACTOR + MISS_FACTOR) * u0);
    const thresholdWidth = widthOfArea(wedge, side, DECISION_FACTOR * u0);
    const area = lostArea(wedge, side, depth);
    return {
      side,
      width,
      depth,
      area,
      areaFit,
      thresholdWidth,
      thresholdDepth: depthOfWidth(wedge, side, thresholdWidth),
      limitWidth,
      detected: area > DECISION_FACTOR * u0 && limitWidth < WIDEST_LIMIT * wedge.radius,
    };
  };
  return { left: wall('left'), right: wall('right') };
}

/** u(w) that an uncertainty of the area means at this width: du = da / (dA/dw), never below the linear slope at 3 um. */
function widthSlope(wedge: Wedge, side: Side, width: number): number {
  // the table of areas ends at 1.25 R
  const w = Math.min(1.15 * wedge.radius, Math.max(width, 2));
  const h = 0.05 * w;
  const up = areaOfWidth(wedge, side, w + h);
  const down = areaOfWidth(wedge, side, w - h);
  return (2 * h) / Math.max(1e-6, up - down);
}

/** `beside`: how far the width moves with what is left out beside chips and residue, um. */
export function wallBudget(wedge: Wedge, wall: WallFit, relative: Relative, beside = 0): BudgetLine[] {
  const up = widthOfArea(wedge, wall.side, wall.area + 2 * wall.areaFit) - wall.width;
  // Near zero no slope holds: what the upper end of the interval says, which is the longer one wherever nothing was seen.
  const fit = wall.detected
    ? Math.min(wedge.radius, wall.areaFit * widthSlope(wedge, wall.side, wall.width))
    : Math.max(up, wall.width) / 2;
  return [
    { source: FIT_SOURCE, standard: fit, type: 'A', degreesOfFreedom: null },
    {
      source: 'scale',
      standard: wall.width * relative.scale,
      type: 'B',
      degreesOfFreedom: null,
      note: relative.scaleNote,
    },
    {
      source: POSE_SOURCE,
      standard: wall.width * relative.pose,
      type: 'B',
      degreesOfFreedom: null,
      note: 'rectangular, flat assumed 0.7 times as long along the groove as it is wide',
    },
    ...besideLine(beside),
  ];
}

/** Less than this is none of a person's business, um. */
const LEAST_BESIDE = 0.02;

/** Nothing where no chip and no residue is near. */
export const besideLine = (beside: number): BudgetLine[] =>
  beside < LEAST_BESIDE
    ? []
    : [
        {
          source: 'chip or residue beside the wall',
          standard: beside / Math.sqrt(3),
          type: 'B',
          degreesOfFreedom: null,
          note: 'rectangular, as far as the width moves with how much of the outline beside it is left out',
        },
      ];

/**
 * Value with its interval; lopsided ends from the area's own interval. What is not detected is consistent with no flat at
 * all, and its interval says so: near zero a width goes with the cube root of the area, whose own interval may begin just
 * above zero though the threshold is not reached.
 */
export function measuredWidth(wedge: Wedge, wall: WallFit, budget: readonly BudgetLine[]): Measured {
  const { standard, expanded } = combineBudget(budget);
  const k = standard > 0 ? expanded / standard : 2;
  const other = Math.sqrt(budget.slice(1).reduce((sum, line) => sum + line.standard ** 2, 0));
  const low0 = widthOfArea(wedge, wall.side, Math.max(0, wall.area - k * wall.areaFit));
  const high0 = widthOfArea(wedge, wall.side, wall.area + k * wall.areaFit);
  const low = wall.detected ? Math.max(0, wall.width - Math.hypot(wall.width - low0, k * other)) : 0;
  const high = wall.width + Math.hypot(high0 - wall.width, k * other);
  return { value: wall.width, expanded: Math.max(wall.width - low, high - wall.width), low, high };
}

import type { Measured } from '../../shared/index.ts';
import { chiSquareQuantile } from '../uncertainty/distributions.ts';
import { alone, together, type Group } from './law-groups.ts';

/**
 * Wear law of one groove wall: w^n - w0^n = c t. On a sphere Archard's law gives n = 4, on a ridge with a long contact
 * n = 3 (Archard 1953; geometry). Parameters here are n, w0 and the width wT at the last point's hours T, which are
 * close to what is measured; c follows. The posterior is summed over a grid, so two points already give an answer, with
 * all its doubt.
 */
export type WearPoint = {
  /** Playing hours and their standard uncertainty. */
  readonly hours: number;
  readonly hoursStandard: number;
  /** Flat width and its standard uncertainty, um. */
  readonly widthUm: number;
  readonly widthStandard: number;
};

export type WearLaw = {
  /** Hours of the last point: reference of `atEnd`. */
  readonly referenceHours: number;
  readonly lastHours: number;
  readonly pointCount: number;
  /** Grid of what the data allow; weights add up to 1. */
  readonly n: Float64Array;
  readonly start: Float64Array;
  readonly atEnd: Float64Array;
  readonly weight: Float64Array;
  /** Summary: exponent, width at 0 hours (um), c (um^n per hour; its unit changes with n, given at the best n). */
  readonly exponent: Measured;
  readonly startUm: Measured;
  readonly rate: Measured;
  /** Factor by which the stated uncertainties were widened, 1 or sqrt(chi^2 / (points - 2)) where the points scatter more. */
  readonly widened: number;
};

export type WearLawOptions = {
  /** Widest believed range of the exponent; outside it belief falls off within 0.1. Both ends alike: that exponent. */
  readonly exponentRange?: readonly [number, number];
  /** Belief about the width of a new stylus' contact, um: mean and standard deviation, cut off at 0. */
  readonly startUm?: readonly [number, number];
  /** Every point by itself, however many there are; for tests of what taking them together does. */
  readonly apart?: boolean;
};

const DEFAULT_RANGE = [3, 4] as const;
const SHOULDER = 0.1;
const DEFAULT_START = [1.5, 1.8] as const;
const GRID = { n: 11, start: 25, end: 45 } as const;

/** Width at `hours` for one set of parameters, um. */
export function widthAt(
  hours: number,
  referenceHours: number,
  n: number,
  start: number,
  atEnd: number,
): number {
  const from = start ** n;
  return Math.max(0, from + ((atEnd ** n - from) * hours) / referenceHours) ** (1 / n);
}

/** Fits the law to points of one wall; null without points or without playing time between 0 and the last of them. */
export function fitWearLaw(points: readonly WearPoint[], options: WearLawOptions = {}): WearLaw | null {
  const usable = points.filter((p) => p.hours >= 0 && Number.isFinite(p.widthUm) && p.widthStandard > 0);
  const referenceHours = Math.max(0, ...usable.map((p) => p.hours));
  if (usable.length === 0 || !(referenceHours > 0)) return null;
  const groups = options.apart === true ? usable.map(alone) : together(usable, referenceHours);
  const first = explore(groups, referenceHours, options, bounds(usable, options), 1);
  // A second, finer grid on what the first one left over.
  const fine = explore(groups, referenceHours, options, narrowed(first), 1);
  const dof = usable.length - 2;
  // Chance alone scatters too: widen only where it would do so less than once in twenty.
  const scattered = dof >= 2 && fine.best > chiSquareQuantile(0.95, dof);
  const widened = scattered ? Math.sqrt(fine.best / dof) : 1;
  const grid =
    widened > 1
      ? explore(groups, referenceHours, options, widenedBounds(narrowed(first), widened), widened)
      : fine;
  return summary(evenly(grid), usable, referenceHours, widened);
}

type Bounds = {
  readonly n: readonly [number, number];
  readonly start: readonly [number, number];
  readonly end: readonly [number, number];
};
type Grid = {
  readonly n: Float64Array;
  readonly start: Float64Array;
  readonly atEnd: Float64Array;
  readonly weight: Float64Array;
  /** Least chi^2, priors apart. */
  readonly best: number;
};

function bounds(points: readonly WearPoint[], options: WearLawOptions): Bounds {
  const [low, high] = options.exponentRange ?? DEFAULT_RANGE;
  const [mean, deviation] = options.startUm ?? DEFAULT_START;
  const last = points.reduce((a, b) => (b.hours > a.hours ? b : a));
  const most = Math.max(...points.map((p) => p.widthUm + 5 * p.widthStandard));
  return {
    n: low === high ? [low, high] : [low - 2 * SHOULDER, high + 2 * SHOULDER],
    start: [0, Math.min(mean + 4 * deviation, most)],
    end: [Math.max(0.05, Math.min(...points.map((p) => p.widthUm)) - 6 * last.widthStandard), most],
  };
}

/** Range of a parameter that carries all but a millionth of the weight, with one cell to spare. */
function narrowed(grid: Grid): Bounds {
  const range = (v: Float64Array, count: number): readonly [number, number] => {
    const top = grid.weight.reduce((a, b) => Math.max(a, b), 0);
    let low = Infinity;
    let high = -Infinity;
    let [all0, all1] = [Infinity, -Infinity];
    for (let i = 0; i < v.length; i++) {
      all0 = Math.min(all0, v[i]);
      all1 = Math.max(all1, v[i]);
      if (grid.weight[i] < 1e-5 * top) continue;
      low = Math.min(low, v[i]);
      high = Math.max(high, v[i]);
    }
    const cell = (all1 - all0) / Math.max(1, count - 1);
    return [Math.max(all0, low - cell), Math.min(all1, high + cell)];
  };
  return { n: range(grid.n, GRID.n), start: range(grid.start, GRID.start), end: range(grid.atEnd, GRID.end) };
}

const DRAWS = 2000;

/**
 * The posterior as equally likely cells, taken at even steps of its cumulated weight (systematic sampling without
 * chance). Most of the grid carries no weight, and every later quantile sorts the cells.
 */
function evenly({ n, start, atEnd, weight, best }: Grid): Grid {
  const cells = new Uint32Array(DRAWS);
  let cell = 0;
  let sum = weight[0];
  for (let k = 0; k < DRAWS; k++) {
    while (sum < (k + 0.5) / DRAWS && cell < weight.length - 1) sum += weight[++cell];
    cells[k] = cell;
  }
  const pick = (values: Float64Array): Float64Array => Float64Array.from(cells, (i) => values[i]);
  const even = new Float64Array(DRAWS).fill(1 / DRAWS);
  return { n: pick(n), start: pick(start), atEnd: pick(atEnd), weight: even, best };
}

function widenedBounds(b: Bounds, factor: number): Bounds {
  const middle = (b.end[0] + b.end[1]) / 2;
  const half = ((b.end[1] - b.end[0]) / 2) * factor;
  return { n: b.n, start: b.start, end: [Math.max(0.05, middle - half), middle + half] };
}

function explore(
  points: readonly Group[],
  reference: number,
  options: WearLawOptions,
  b: Bounds,
  widened: number,
): Grid {
  const size = GRID.n * GRID.start * GRID.end;
  const [n, start, atEnd] = [new Float64Array(size), new Float64Array(size), new Float64Array(size)];
  const log = new Float64Array(size);
  const weight = new Float64Array(size);
  let at = 0;
  const measured = asColumns(points, widened);
  let { best, top } = firstLook(measured, reference, options, b, widened);
  for (let i = 0; i < GRID.n; i++)
    for (let j = 0; j < GRID.start; j++)
      for (let k = 0; k < GRID.end; k++, at++) {
        n[at] = place(b.n, i, GRID.n);
        start[at] = place(b.start, j, GRID.start);
        atEnd[at] = place(b.end, k, GRID.end);
        // Wear never goes back.
        if (atEnd[at] < start[at]) {
          log[at] = -Infinity;
          continue;
        }
        const believed = belief(n[at], start[at], options);
        const misfit = misfitOf(measured, reference, n[at], start[at], atEnd[at], {
          chi: best / (widened * widened),
          half: believed - top + NEGLIGIBLE,
        });
        if (misfit === null) {
          log[at] = -Infinity;
          continue;
        }
        best = Math.min(best, misfit.chi * widened * widened);
        log[at] = believed - misfit.chi / 2 - misfit.norm;
        top = Math.max(top, log[at]);
      }
  let total = 0;
  for (let i = 0; i < size; i++) total += weight[i] = Math.exp(log[i] - top);
  for (let i = 0; i < size; i++) weight[i] /= total;
  return { n, start, atEnd, weight, best };
}

const place = ([low, high]: readonly [number, number], k: number, count: number): number =>
  low + ((high - low) * (k + 0.5)) / count;

/** Every so many cells of the grid; coprime to its sides, so that these lie all over it. */
const LOOK_EVERY = 47;

/** What some of the cells reach: with that known, most of the others are seen to be worse after a few points. */
function firstLook(
  points: Columns,
  reference: number,
  options: WearLawOptions,
  b: Bounds,
  widened: number,
): { best: number; top: number } {
  let best = Infinity;
  let top = -Infinity;
  const all = { chi: Infinity, half: Infinity };
  for (let cell = 0; cell < GRID.n * GRID.start * GRID.end; cell += LOOK_EVERY) {
    const n = place(b.n, Math.floor(cell / (GRID.start * GRID.end)), GRID.n);
    const start = place(b.start, Math.floor(cell / GRID.end) % GRID.start, GRID.start);
    const atEnd = place(b.end, cell % GRID.end, GRID.end);
    if (atEnd < start) continue;
    const { chi, norm } = misfitOf(points, reference, n, start, atEnd, all)!;
    best = Math.min(best, chi * widened * widened);
    top = Math.max(top, belief(n, start, options) - chi / 2 - norm);
  }
  return { best, top };
}

/** A cell whose weight is less than exp(-40) of the best one's so far is left out: 12,000 of them add less than 1e-13. */
const NEGLIGIBLE = 40;

type Columns = {
  readonly hours: Float64Array;
  readonly hoursStandard: Float64Array;
  readonly width: Float64Array;
  /** Variance of the width, widened. */
  readonly variance: Float64Array;
  /** The same as it was stated. */
  readonly stated: Float64Array;
  readonly count: Float64Array;
  readonly scatter: Float64Array;
};

/** The points in an order in which the first few lie far apart, so that a wrong law shows after a few of them. */
function asColumns(points: readonly Group[], widened: number): Columns {
  const count = points.length;
  const sorted = points.toSorted((a, b) => a.hours - b.hours);
  // Steps of about the golden section of the list that reach every place once.
  let step = Math.max(1, Math.round(0.618 * count));
  while (greatestDivisor(step, count) > 1) step++;
  const spread = sorted.map((_, i) => sorted[(count - 1 + i * step) % count]);
  return {
    hours: Float64Array.from(spread, (p) => p.hours),
    hoursStandard: Float64Array.from(spread, (p) => p.hoursStandard),
    width: Float64Array.from(spread, (p) => p.widthUm),
    variance: Float64Array.from(spread, (p) => (p.widthStandard * widened) ** 2),
    stated: Float64Array.from(spread, (p) => p.widthStandard ** 2),
    count: Float64Array.from(spread, (p) => p.count),
    scatter: Float64Array.from(spread, (p) => p.scatter),
  };
}

const greatestDivisor = (a: number, b: number): number => (b === 0 ? a : greatestDivisor(b, a % b));

/**
 * chi^2 with both errors (effective variance) and the logarithm of its norm. Null as soon as it is clear that the law
 * neither fits best (`worse.chi`) nor carries weight (`worse.half`: half of chi^2 with the norm): both only grow.
 */
function misfitOf(
  points: Columns,
  reference: number,
  n: number,
  start: number,
  atEnd: number,
  worse: { readonly chi: number; readonly half: number },
): { chi: number; norm: number } | null {
  const { hours, hoursStandard, width, variance: stated, stated: unwidened, count, scatter } = points;
  let chi = 0;
  let norm = 0;
  // Logarithms are dear: one of a product instead of a sum of many.
  let product = 1;
  // widthAt() for many points of one law: the powers that do not change are taken once.
  const from = start ** n;
  const perHour = (atEnd ** n - from) / reference;
  const root = 1 / n;
  for (let i = 0; i < hours.length; i++) {
    const w = Math.max(0, from + perHour * hours[i]) ** root;
    let variance = stated[i];
    if (hoursStandard[i] > 0) {
      // The slope is infinite at w = 0; over the step itself it is not.
      const ahead = Math.max(0, from + perHour * (hours[i] + hoursStandard[i])) ** root;
      variance += (ahead - w) ** 2;
      // Of a group each of its points counts.
      if (count[i] === 1) product *= variance / unwidened[i];
      else norm += 0.5 * count[i] * Math.log(variance / unwidened[i]);
      if (product > 1e100) {
        norm += 0.5 * Math.log(product);
        product = 1;
      }
    }
    chi += (scatter[i] + count[i] * (width[i] - w) ** 2) / variance;
    if (chi > worse.chi && chi / 2 + norm > worse.half) return null;
  }
  return { chi, norm: norm + 0.5 * Math.log(product) };
}

function belief(n: number, start: number, options: WearLawOptions): number {
  const [low, high] = options.exponentRange ?? DEFAULT_RANGE;
  const [mean, deviation] = options.startUm ?? DEFAULT_START;
  const outside = n < low ? low - n : n > high ? n - high : 0;
  return -0.5 * (outside / SHOULDER) ** 2 - 0.5 * ((start - mean) / deviation) ** 2;
}

function summary(grid: Grid, points: readonly WearPoint[], referenceHours: number, widened: number): WearLaw {
  const { n, start, atEnd, weight } = grid;
  const rate = n.map((exponent, i) => (atEnd[i] ** exponent - start[i] ** exponent) / referenceHours);
  return {
    referenceHours,
    lastHours: referenceHours,
    pointCount: points.length,
    n,
    start,
    atEnd,
    weight,
    exponent: describe(n, weight),
    startUm: describe(start, weight),
    rate: describe(rate, weight),
    widened,
  };
}

function describe(values: Float64Array, weight: Float64Array): Measured {
  const mean = values.reduce((sum, v, i) => sum + v * weight[i], 0);
  const variance = values.reduce((sum, v, i) => sum + weight[i] * (v - mean) ** 2, 0);
  const [low, high] = quantiles(values, weight, [0.02275, 0.97725]);
  return { value: mean, expanded: 2 * Math.sqrt(variance), low, high };
}

/** Quantiles of weighted values. Infinity may be among the values. */
export function quantiles(values: Float64Array, weight: Float64Array, wanted: readonly number[]): number[] {
  const [one] = weight;
  // Draws that all weigh alike need no order of their own, and numbers alone are sorted ten times as fast.
  if (one > 0 && weight.every((each) => each === one)) return evenQuantiles(values, one, wanted);
  const order = Uint32Array.from(values.keys())
    .filter((i) => weight[i] > 0)
    // Infinity minus Infinity is no number, so equal ones are told apart first.
    .sort((i, j) => (values[i] === values[j] ? 0 : values[i] - values[j]));
  const total = order.reduce((sum, i) => sum + weight[i], 0);
  return wanted.map((q) => {
    let sum = 0;
    for (const i of order) {
      sum += weight[i];
      if (sum >= q * total) return values[i];
    }
    return order.length > 0 ? values[order[order.length - 1]] : Number.NaN;
  });
}

function evenQuantiles(values: Float64Array, each: number, wanted: readonly number[]): number[] {
  const sorted = values.toSorted();
  const total = sorted.reduce((sum) => sum + each, 0);
  return wanted.map((q) => {
    let sum = 0;
    for (const value of sorted) {
      sum += each;
      if (sum >= q * total) return value;
    }
    return sorted.at(-1) ?? Number.NaN;
  });
}

/** Width expected at `hours`, with the band that holds the true width in 95 % of cases. */
export function predictWidth(
  law: WearLaw,
  hours: number,
): { readonly value: number; readonly low: number; readonly high: number } {
  const values = law.n.map((n, i) =>
    law.weight[i] > 0 ? widthAt(hours, law.referenceHours, n, law.start[i], law.atEnd[i]) : 0,
  );
  const [low, value, high] = quantiles(values, law.weight, [0.025, 0.5, 0.975]);
  return { value, low, high };
}

/** Total hours at which a width is reached: 95 % range and middle; Infinity where it may never be. */
export function hoursToReach(
  law: WearLaw,
  widthUm: number,
): { readonly value: number; readonly low: number; readonly high: number } {
  const values = law.n.map((n, i) => {
    const gain = law.atEnd[i] ** n - law.start[i] ** n;
    const missing = widthUm ** n - law.start[i] ** n;
    if (missing <= 0) return 0;
    return gain > 0 ? (law.referenceHours * missing) / gain : Infinity;
  });
  const [low, value, high] = quantiles(values, law.weight, [0.025, 0.5, 0.975]);
  return { value, low, high };
}

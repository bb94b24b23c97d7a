import { type Background } from '../image/background.ts';
import { median } from '../fit/select.ts';
import type { GreyImage } from '../image/grey.ts';
import { bandOf } from './band.ts';
import {
  FIELD,
  INTERIOR,
  KAPPA,
  POSE,
  SHADE,
  SIGMA,
  TONE,
  WEIGHT,
  type Band,
  type CaptureModel,
} from './capture-model.ts';
import { fitProblem, type Fitted } from './fit.ts';
import type { Part, Prior, Problem } from './problem.ts';
import type { Located } from './locate.ts';
import { placer, SHAPE_SIZE, wedgeOf } from './wedge.ts';

/** One capture made ready for measuring. */
export type Prepared = {
  readonly image: GreyImage;
  readonly background: Background;
  readonly located: Located;
  readonly umPerPx: number;
  readonly darkPart: boolean;
  /** Typical |field - interior| near the edge, grey. */
  readonly contrast: number;
  /** Level of the field where the tip is, grey. */
  readonly fieldAtTip: number;
  /** Were the file's values taken for sRGB and turned into light? Else they are taken for light as they are. */
  readonly linearised: boolean;
};

export type SingleFit = {
  readonly prepared: Prepared;
  readonly problem: Problem;
  readonly fitted: Fitted;
};

const RADIAN = Math.PI / 180;

/** Start shape from the located outline, um and radians. */
export function startShape(located: Located, umPerPx: number): Float64Array {
  const r = located.radiusPx * umPerPx;
  return Float64Array.from([r, 0, located.halfLeft, located.halfRight, 0, 0, 0.012 * r, 0.012 * r]);
}

/**
 * What another capture of the same part says about the shape, held loosely: several times weaker than what a clean
 * capture itself tells, strong enough that a chip or residue is not taken for an odd ellipse.
 */
function knownPriors(map: Int32Array, known: ArrayLike<number>, grip: number): Prior[] {
  const held = (i: number, sd: number): Prior => ({ terms: [[map[i], 1]], value: known[i], sd: sd / grip });
  return [held(0, 0.025 * known[0]), held(1, 0.025), held(2, 0.4 * RADIAN), held(3, 0.4 * RADIAN)];
}

/** Another capture's shape as a start: its cuts are forgotten. */
function knownStart(p: ArrayLike<number>): Float64Array {
  return Float64Array.from([p[0], p[1], p[2], p[3], p[4], p[5], 0.012 * p[0], 0.012 * p[0]]);
}

export function flankReach(located: Located, umPerPx: number): number {
  const r = located.radiusPx * umPerPx;
  const half = (located.halfLeft + located.halfRight) / 2;
  const arc = r * (Math.PI / 2 - half);
  const up = (located.flankPx * umPerPx + r * Math.sin(half)) / Math.cos(half);
  return arc + Math.max(0.3 * r, Math.min(0.92 * up, 3 * r + 30));
}

function knotsFor(reach: number, radius: number): Float64Array {
  const spacing = Math.max(0.45 * radius, 5);
  const n = Math.max(6, Math.min(25, Math.ceil((2 * reach) / spacing) + 1));
  return Float64Array.from({ length: n }, (_, i) => -reach + (2 * reach * i) / (n - 1));
}

/** Model of one capture for a given start (shape, pose, sigma). */
export function captureModel(
  prepared: Prepared,
  shape: ArrayLike<number>,
  pose: { x: number; y: number; rotation: number },
  sigma: number,
  most: number,
): CaptureModel {
  const reach = flankReach(prepared.located, prepared.umPerPx);
  const side = Math.max(4.2 * sigma, 3 * prepared.umPerPx);
  const around = { shape, pose, outside: side, inside: side, reach };
  const band = bandOf(prepared.image, prepared.background, prepared.umPerPx, around, most);
  const knots = knotsFor(reach, shape[0]);
  return {
    umPerPx: prepared.umPerPx,
    band,
    knots,
    depth: side,
    size: INTERIOR + (prepared.darkPart ? 2 : 4) * knots.length,
    humps: !prepared.darkPart,
    length: reach,
  };
}

/** Interior levels at the knots from the pixels well inside the edge. */
export function startInterior(
  model: CaptureModel,
  shape: ArrayLike<number>,
  pose: { x: number; y: number; rotation: number },
): Float64Array {
  const { band, knots } = model;
  const placeOf = placer(wedgeOf(shape));
  const c = Math.cos(pose.rotation);
  const s = Math.sin(pose.rotation);
  const lists: number[][] = Array.from(knots, () => []);
  const all: number[] = [];
  const step = knots[1] - knots[0];
  for (let k = 0; k < band.n; k++) {
    const dx = band.x[k] - pose.x;
    const dy = band.y[k] - pose.y;
    const place = placeOf(c * dx - s * dy, s * dx + c * dy);
    if (place.t > -0.55 * model.depth) continue;
    const at = Math.round((place.s - knots[0]) / step);
    if (at < 0 || at >= knots.length) continue;
    lists[at].push(band.grey[k]);
    all.push(band.grey[k]);
  }
  const typical = all.length ? median(all) : 0.1;
  return Float64Array.from(lists, (list) => (list.length > 4 ? median(list) : typical));
}

/** Interior of an earlier fit carried over to another model's knots. */
export function carriedInterior(
  from: { readonly model: CaptureModel; readonly p: ArrayLike<number> },
  to: CaptureModel,
): Float64Array {
  const old = from.model.knots;
  const n = old.length;
  const step = (old[n - 1] - old[0]) / (n - 1);
  const kinds = (to.size - INTERIOR) / to.knots.length;
  const out = new Float64Array(to.size - INTERIOR);
  to.knots.forEach((s, i) => {
    const at = Math.min(n - 1 - 1e-9, Math.max(0, (s - old[0]) / step));
    const j = Math.floor(at);
    for (let kind = 0; kind < kinds; kind++) {
      const base = INTERIOR + kind * n + j;
      out[kind * to.knots.length + i] = from.p[base] * (1 - at + j) + from.p[base + 1] * (at - j);
    }
  });
  return out;
}

export function boundsOf(size: number): { lower: Float64Array; upper: Float64Array } {
  const lower = new Float64Array(size).fill(-1e9);
  const upper = new Float64Array(size).fill(1e9);
  return { lower, upper };
}

/** Bounds of the shape and of one capture's own parameters, written at their global places. */
export function setBounds(
  map: Int32Array,
  bounds: { lower: Float64Array; upper: Float64Array },
  shape: ArrayLike<number>,
  umPerPx: number,
): void {
  const set = (i: number, low: number, high: number): void => {
    bounds.lower[map[i]] = low;
    bounds.upper[map[i]] = high;
  };
  const r = shape[0];
  set(0, 0.4 * r, 2.2 * r);
  set(1, -0.3, 0.3);
  set(2, 8 * RADIAN, 50 * RADIAN);
  set(3, 8 * RADIAN, 50 * RADIAN);
  set(4, -9 * RADIAN, 9 * RADIAN);
  set(5, -9 * RADIAN, 9 * RADIAN);
  // a flat of 1.2 R and more: no stylus is let to have it, and a lit inside that is cut so deep explains anything
  set(6, 0, 0.22 * r);
  set(7, 0, 0.22 * r);
  set(SIGMA, 0.35 * umPerPx, 12);
  set(WEIGHT, -0.6, 1.8);
  set(TONE, -0.7, 0.7);
  set(SHADE, 0, 1);
}

/** Where the share of a lit part's shading that goes by the unworn surface is begun; see {@link capturePriors}. */
const RIM_CUT_OFF = 0.3;

/** Priors on what one capture alone cannot tell, and gentle ones on the interior. */
export function capturePriors(map: Int32Array, prepared: Prepared, knots: number, kappaSd = 1e-6): Prior[] {
  const priors: Prior[] = [];
  const single = (i: number, value: number, sd: number): void => {
    priors.push({ terms: [[map[i], 1]], value, sd });
  };
  single(WEIGHT, 0.1, 0.35);
  single(TONE, 0, 0.12);
  single(KAPPA, 0, kappaSd);
  for (let i = 0; i < 3; i++) single(FIELD + i, 0, 0.02);
  const { contrast, darkPart } = prepared;
  // Whether a flat cuts a dark rim off or has one of its own depends on what makes the rim: a surface that turns away, or
  // light that leaves at the edge. Begun nearer to the second, since a thin glint behind a cut looks like the first; a
  // picture that shows it moves this far. A silhouette's inside is dark all over: nothing to tell it by.
  single(SHADE, darkPart ? 0 : RIM_CUT_OFF, darkPart ? 1e-6 : 0.3);
  // Lit parts: how fast the inside rises behind the edge depends on light and rim and changes slowly along the edge,
  // and an edge that is seen at all stands out from the field. Without that, an edge further out whose inside is as
  // dark as the field explains a picture just as well.
  const inside = darkPart
    ? { level: 1000, levels: 0.08, slope: 0.08, slopes: 0.08 }
    : { level: 0.25, levels: 0.3, slope: 0.4, slopes: 0.08 };
  const sd = (part: number): number => part * contrast;
  for (let i = 0; i < knots; i++) {
    single(INTERIOR + knots + i, 0, sd(inside.slope));
    if (darkPart) single(INTERIOR + i, 0.5, 3);
    else {
      single(INTERIOR + i, prepared.fieldAtTip + 0.8 * contrast, sd(inside.level));
      single(INTERIOR + 2 * knots + i, 0, sd(0.3));
      single(INTERIOR + 3 * knots + i, 0, sd(0.3));
    }
  }
  const neighbours = (at: number, width: number): void => {
    for (let i = 0; i + 1 < knots; i++)
      priors.push({
        terms: [
          [map[at + i], 1],
          [map[at + i + 1], -1],
        ],
        value: 0,
        sd: sd(width),
      });
  };
  // neighbouring slopes and levels alike: an interior is smooth along the edge
  neighbours(INTERIOR, inside.levels);
  neighbours(INTERIOR + knots, inside.slopes);
  if (!darkPart) {
    neighbours(INTERIOR + 2 * knots, 0.15);
    neighbours(INTERIOR + 3 * knots, 0.05);
  }
  return priors;
}

/**
 * How much less the grey values of a part lit from the front count against what is known of tips beforehand. A fit's own
 * covariance is too small there by two to three (`LEAST_LIT` in report-pair.ts, from the laboratory), since a smooth inside
 * is not the whole truth; believed as they stand, they bent the arc by twice its makers' tolerance, made the radius too
 * small by a sixth, and let an unworn wall pass for a flat of half the radius.
 */
export const LIT_FIRMNESS = 3;

/** Priors on the shape: common practice of how tips are made (memory: ellipse, wall and flank tolerances). */
export function shapePriors(map: Int32Array, lit: boolean): Prior[] {
  const firm = lit ? LIT_FIRMNESS : 1;
  const near = (terms: Prior['terms'], sd: number): Prior => ({ terms, value: 0, sd: sd / firm });
  return [
    near([[map[1], 1]], 0.07),
    near(
      [
        [map[2], 1],
        [map[3], -1],
      ],
      1.2 * RADIAN,
    ),
    near([[map[4], 1]], 2 * RADIAN),
    near([[map[5], 1]], 2 * RADIAN),
  ];
}

export const poseOfFit = (p: ArrayLike<number>): { x: number; y: number; rotation: number } => ({
  x: p[POSE],
  y: p[POSE + 1],
  rotation: p[POSE + 2],
});

export function partOf(model: CaptureModel, map: Int32Array, prepared: Prepared): Part {
  return { model, map, mask: new Float64Array(model.band.n).fill(1), floor: prepared.darkPart ? 0.08 : 0.5 };
}

/** Depths of the two cuts that are not to be fitted, um: left, right. */
export type Cuts = readonly [number, number];

function assemble(
  prepared: Prepared,
  shape: ArrayLike<number>,
  pose: { x: number; y: number; rotation: number },
  optics: { sigma: number; weight: number; tone: number; shade: number },
  most: number,
  known: ArrayLike<number> | undefined,
  grip: number,
  before: SingleFit | null,
  cuts: Cuts | null,
): { problem: Problem; start: Float64Array } {
  const model = captureModel(prepared, shape, pose, optics.sigma, most);
  const map = Int32Array.from({ length: model.size }, (_, i) => i);
  const start = new Float64Array(model.size);
  for (let i = 0; i < SHAPE_SIZE; i++) start[i] = shape[i];
  start[POSE] = pose.x;
  start[POSE + 1] = pose.y;
  start[POSE + 2] = pose.rotation;
  start[SIGMA] = optics.sigma;
  start[WEIGHT] = optics.weight;
  start[TONE] = optics.tone;
  start[SHADE] = optics.shade;
  const inside = before
    ? carriedInterior({ model: before.problem.parts[0].model, p: before.fitted.p }, model)
    : startInterior(model, shape, pose);
  start.set(inside, INTERIOR);
  const bounds = boundsOf(model.size);
  setBounds(map, bounds, shape, prepared.umPerPx);
  cuts?.forEach((depth, side) => {
    start[6 + side] = depth;
    bounds.lower[6 + side] = depth;
    bounds.upper[6 + side] = depth;
  });
  const problem: Problem = {
    parts: [partOf(model, map, prepared)],
    size: model.size,
    priors: [
      ...shapePriors(map, !prepared.darkPart),
      ...(known ? knownPriors(map, known, grip) : []),
      ...capturePriors(map, prepared, model.knots.length),
    ],
    ...bounds,
  };
  return { problem, start };
}

/**
 * Fits the wedge to one capture: first without cuts' freedom to find pose and blur, then with both cuts from several
 * small starts. `known`: shape of another capture of the same part to start
 * from; `grip`: how many times tighter than loosely it is held; `pixels`: at most so many take part; `cuts`: depths that
 * are believed.
 */
export function fitSingle(
  prepared: Prepared,
  mask?: ((band: Band) => Float64Array) | null,
  known?: ArrayLike<number>,
  grip = 1,
  pixels = 9000,
  cuts: Cuts | null = null,
): SingleFit {
  const k = prepared.umPerPx;
  const { located } = prepared;
  let shape: ArrayLike<number> = known ? knownStart(known) : startShape(located, k);
  // With a known radius the centre moves along the axis so that the flanks, which are found best, stay in place.
  const half = (located.halfLeft + located.halfRight) / 2;
  const shift = (located.radiusPx * k - shape[0]) / Math.sin(half);
  let pose = {
    x: located.xPx * k + shift * Math.sin(located.rotation),
    y: located.yPx * k + shift * Math.cos(located.rotation),
    rotation: located.rotation,
  };
  let optics = {
    sigma: Math.max(1.6, 1.3 * k),
    weight: 0.1,
    tone: 0,
    shade: prepared.darkPart ? 0 : RIM_CUT_OFF,
  };
  let result: SingleFit | null = null;
  // enough to find pose and blur by; where the inside is lit its shading wants as many pixels again
  const first = prepared.darkPart ? 600 : 1500;
  for (const most of [first, pixels]) {
    const { problem, start } = assemble(prepared, shape, pose, optics, most, known, grip, result, cuts);
    if (mask) problem.parts[0].mask.set(mask(problem.parts[0].model.band));
    const fitted = fitProblem(
      problem,
      start,
      most === first ? { rounds: 2, most: 14, gain: 2 } : { rounds: 2, most: 20, gain: 0.3 },
    );
    result = { prepared, problem, fitted };
    shape = fitted.p.slice(0, SHAPE_SIZE);
    // a cut that has gone to zero has no gradient to come back: give it a little depth to start from
    (shape as Float64Array)[6] = Math.max(shape[6], 0.006 * shape[0]);
    (shape as Float64Array)[7] = Math.max(shape[7], 0.006 * shape[0]);
    pose = poseOfFit(fitted.p);
    optics = {
      sigma: fitted.p[SIGMA],
      weight: fitted.p[WEIGHT],
      tone: fitted.p[TONE],
      shade: fitted.p[SHADE],
    };
  }
  return result as SingleFit;
}

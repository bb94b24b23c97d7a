import { leastSquares, type LeastSquares } from '../fit/linear-algebra.ts';
import { blurredPatch, lightOf } from './blurred-patch.ts';
import type { PairStart } from './find.ts';
import { windowAbout, type Window } from './window.ts';
import type { WorkingCopy } from './working-copy.ts';

/**
 * Two blurred patches on their own grounds, and a lamp's ring between them if there is one. Lengths in um, in the
 * window's frame (y down). Grey levels are linear and solved for in every step.
 * Over 400 lines because the model, its beliefs and its solution share one list of unknowns.
 */
export type PairFit = {
  readonly window: Window;
  /** Direction across the groove from `one` to `other`, radians from +x towards +y, and its standard uncertainty. */
  readonly angle: number;
  readonly angleStandard: number;
  readonly one: Patch;
  readonly other: Patch;
  readonly sigma: number;
  /** Light of a lamp's ring over the ground; 0 without one. */
  readonly ring: number;
  readonly residual: number;
};

export type Patch = {
  readonly x: number;
  readonly y: number;
  /** Full extents, um: across the groove as seen, and along it; standard uncertainties from the fit. */
  readonly across: number;
  readonly along: number;
  readonly acrossStandard: number;
  readonly alongStandard: number;
  /** Light over the ground, grey 0..1. */
  readonly light: number;
  /** n of |x/a|^n + |y/b|^n = 1: 2 is an ellipse. */
  readonly exponent: number;
};

/** Parameters: place, half extents across and along of one patch, the same of the other, then what they share. */
const [X, Y, A, B] = [0, 1, 2, 3];
const OTHER = 4;
const [ANGLE, SHAPE, SIGMA] = [8, 9, 11];
/** A lamp's ring, or with radius 0 a bright dot on the apex: radius, width, place from the patches' middle. */
const [RING, RING_WIDTH, RING_X, RING_Y] = [12, 13, 14, 15];
/** Bend of the camera's tone curve. */
const TONE = 16;
const P = 17;
/** Light, its two slopes; ground and its two slopes: for each patch. Then a bowl and the ring. */
const OF_PATCH = 6;
const [BOWL, RING_LIGHT] = [12, 13];
const LINEAR = 14;
const ALL = P + LINEAR;
const PRIORS = 15;

const [SHAPE_LOW, SHAPE_HIGH] = [Math.log(0.75), Math.log(5)];
const SIZES_LOW = [0.8, 0.8];
const SIZES_HIGH = [14, 25];
const LOW = [
  -99,
  -99,
  ...SIZES_LOW,
  -99,
  -99,
  ...SIZES_LOW,
  -99,
  SHAPE_LOW,
  SHAPE_LOW,
  0.4,
  0,
  0.7,
  -6,
  -6,
  -0.3,
];
const HIGH = [99, 99, ...SIZES_HIGH, 99, 99, ...SIZES_HIGH, 99, SHAPE_HIGH, SHAPE_HIGH, 4, 14, 5, 6, 6, 0.8];
const DELTA = [
  0.02, 0.02, 0.01, 0.01, 0.02, 0.02, 0.01, 0.01, 1e-3, 0.01, 0.01, 0.01, 0.02, 0.02, 0.02, 0.02, 0.01,
];

/** Blur of a hand-held microscope at this magnification, um. */
const SIGMA_BELIEF = [1.6, 0.5] as const;
/** ln(n/2): a plane cuts a smooth tip in an ellipse; worn edges and grain make the corners fuller. */
const SHAPE_BELIEF = [0.1, 0.22] as const;
/** The flats' own directions and the line through their middles, radians. */
const ANGLE_BELIEF = 0.03;
/** A ring or dot lies between the patches, um. */
const RING_PLACE = 1.5;
/**
 * Light of a patch over the step that its spot shows: without it a blurred patch could be a thin line brighter than the
 * picture can be.
 */
const LIGHT_BELIEF = [1.15, 0.4] as const;
/** Slope of the light from a patch's middle to its edge, over its light. */
const SLOPE_BELIEF = 0.2;
/** Display gamma lifts what is dark: light m is shown as m + t m (1 - m). */
const TONE_BELIEF = [0.1, 0.18] as const;
/** Neighbouring pixels share texture and JPEG blocks: residuals are worth this much more than they seem. */
export const CORRELATION = 2.5;

type State = {
  readonly linear: Float64Array;
  readonly residuals: Float64Array;
  readonly design: Float64Array;
  readonly cost: number;
};

type Problem = {
  readonly w: Window;
  readonly withRing: boolean;
  readonly weight: Float64Array;
  /** Step of grey values that the patches are expected to have. */
  readonly step: number;
};

/** Columns of one patch: light and its slopes; those of the ground are set once. */
function patchColumns(w: Window, p: Float64Array, which: 0 | 1, into: Float64Array): void {
  const at = which * OTHER;
  const shape = 2 * Math.exp(p[SHAPE + which]);
  const patch = blurredPatch(p[at + A], p[at + B], shape, p[SIGMA]);
  const [c, s] = [Math.cos(p[ANGLE]), Math.sin(p[ANGLE])];
  for (let i = 0; i < w.x.length; i++) {
    const dx = w.x[i] - p[at + X];
    const dy = w.y[i] - p[at + Y];
    const u = c * dx + s * dy;
    const v = -s * dx + c * dy;
    const even = lightOf(patch, u, v);
    const light = even + p[TONE] * even * (1 - even);
    const k = i * LINEAR + which * OF_PATCH;
    into[k] = light;
    into[k + 1] = (light * u) / p[at + A];
    into[k + 2] = (light * v) / p[at + B];
  }
}

function groundColumns(w: Window, p: Float64Array, into: Float64Array): void {
  for (let i = 0; i < w.x.length; i++) {
    const which = w.near[i];
    const at = which * OTHER;
    const k = i * LINEAR + which * OF_PATCH + 3;
    into[k] = 1;
    into[k + 1] = (w.x[i] - p[at + X]) / 10;
    into[k + 2] = (w.y[i] - p[at + Y]) / 10;
    into[i * LINEAR + BOWL] = (w.x[i] ** 2 + w.y[i] ** 2) / 400;
  }
}

function ringColumn(w: Window, p: Float64Array, into: Float64Array): void {
  const mx = (p[X] + p[OTHER + X]) / 2 + p[RING_X];
  const my = (p[Y] + p[OTHER + Y]) / 2 + p[RING_Y];
  for (let i = 0; i < w.x.length; i++) {
    const k = i * LINEAR;
    const r = Math.hypot(w.x[i] - mx, w.y[i] - my);
    // A flat mirrors the lamp as a whole: the ring shows only beside it.
    const beside = Math.max(0, (1 - into[k]) * (1 - into[k + OF_PATCH]));
    into[k + RING_LIGHT] = beside * Math.exp(-0.5 * ((r - p[RING]) / p[RING_WIDTH]) ** 2);
  }
}

function design({ w, withRing }: Problem, p: Float64Array): Float64Array {
  const out = new Float64Array(w.x.length * LINEAR);
  patchColumns(w, p, 0, out);
  patchColumns(w, p, 1, out);
  groundColumns(w, p, out);
  if (withRing) ringColumn(w, p, out);
  return out;
}

/** Beliefs as rows: their place in the unknowns, what they miss, and how sure they are. */
function beliefs(
  problem: Problem,
  p: Float64Array,
  linear: Float64Array,
): { row: [number, number][]; miss: number; sd: number }[] {
  const dx = p[OTHER + X] - p[X];
  const dy = p[OTHER + Y] - p[Y];
  const d2 = dx * dx + dy * dy;
  const off = p[ANGLE] - Math.atan2(dy, dx);
  const turned = Math.atan2(Math.sin(off), Math.cos(off));
  const slope = SLOPE_BELIEF * problem.step;
  return [
    { row: [[SIGMA, 1]], miss: SIGMA_BELIEF[0] - p[SIGMA], sd: SIGMA_BELIEF[1] },
    { row: [[TONE, 1]], miss: TONE_BELIEF[0] - p[TONE], sd: TONE_BELIEF[1] },
    ...[SHAPE, SHAPE + 1].map((k) => ({
      row: [[k, 1]] as [number, number][],
      miss: SHAPE_BELIEF[0] - p[k],
      sd: SHAPE_BELIEF[1],
    })),
    ...[RING_X, RING_Y].map((k) => ({ row: [[k, 1]] as [number, number][], miss: -p[k], sd: RING_PLACE })),
    {
      row: [
        [ANGLE, 1],
        [X, -dy / d2],
        [Y, dx / d2],
        [OTHER + X, dy / d2],
        [OTHER + Y, -dx / d2],
      ],
      miss: -turned,
      sd: ANGLE_BELIEF,
    },
    ...[0, OF_PATCH].map((k) => ({
      row: [[P + k, 1]] as [number, number][],
      miss: LIGHT_BELIEF[0] * problem.step - linear[k],
      sd: LIGHT_BELIEF[1] * problem.step,
    })),
    ...[1, 2, OF_PATCH + 1, OF_PATCH + 2].map((k) => ({
      row: [[P + k, 1]] as [number, number][],
      miss: -linear[k],
      sd: slope,
    })),
  ];
}

const believedCost = (problem: Problem, p: Float64Array, linear: Float64Array, noise: number): number =>
  beliefs(problem, p, linear).reduce((sum, b) => sum + ((noise * b.miss) / b.sd) ** 2, 0);

/** Light that fits best at given shapes. */
function evaluate(problem: Problem, p: Float64Array, noise: number): State | null {
  const { w, weight } = problem;
  const n = w.x.length;
  const columns = design(problem, p);
  const rows = new Float64Array((n + LINEAR) * LINEAR);
  const rhs = new Float64Array(n + LINEAR);
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < LINEAR; k++) rows[i * LINEAR + k] = weight[i] * columns[i * LINEAR + k];
    rhs[i] = weight[i] * w.grey[i];
  }
  // Weak pulls to 0 keep what is not there from making the system singular; slopes have their belief.
  for (let k = 0; k < LINEAR; k++) {
    const isSlope = k < BOWL && (k % OF_PATCH === 1 || k % OF_PATCH === 2);
    rows[(n + k) * LINEAR + k] = isSlope ? Math.max(1e-3, noise / (SLOPE_BELIEF * problem.step)) : 1e-3;
    if (k !== 0 && k !== OF_PATCH) continue;
    rows[(n + k) * LINEAR + k] = noise / (LIGHT_BELIEF[1] * problem.step);
    rhs[n + k] = (noise * LIGHT_BELIEF[0]) / LIGHT_BELIEF[1];
  }
  const solved = leastSquares(rows, rhs, n + LINEAR, LINEAR);
  if (solved === null) return null;
  const residuals = new Float64Array(n);
  let cost = 0;
  for (let i = 0; i < n; i++) {
    let r = w.grey[i];
    for (let k = 0; k < LINEAR; k++) r -= columns[i * LINEAR + k] * solved.solution[k];
    residuals[i] = r;
    cost += (weight[i] * r) ** 2;
  }
  return { linear: solved.solution, residuals, design: columns, cost };
}

/** Derivatives of the modelled grey values with the linear part held. */
function jacobian(problem: Problem, p: Float64Array, state: State): Float64Array {
  const { w, withRing } = problem;
  const n = w.x.length;
  const out = new Float64Array(n * P);
  for (let j = 0; j < P; j++) {
    if (!withRing && j >= RING && j <= RING_Y) continue;
    const moved = p.slice();
    moved[j] += DELTA[j];
    const columns = state.design.slice();
    const shared = j === ANGLE || j === SIGMA || j === TONE;
    if (j < OTHER || j === SHAPE || shared) patchColumns(w, moved, 0, columns);
    if ((j >= OTHER && j < ANGLE) || j === SHAPE + 1 || shared) patchColumns(w, moved, 1, columns);
    if (withRing) ringColumn(w, moved, columns);
    for (let i = 0; i < n; i++) {
      let change = 0;
      for (let k = 0; k < LINEAR; k++)
        change += (columns[i * LINEAR + k] - state.design[i * LINEAR + k]) * state.linear[k];
      out[i * P + j] = change / DELTA[j];
    }
  }
  return out;
}

/** Joint step of shape and light, so that the one does not chase the other; damping on the shape only. */
function solveStep(
  problem: Problem,
  p: Float64Array,
  state: State,
  noise: number,
  damping: number,
  jac: Float64Array,
): LeastSquares | null {
  const { w, weight } = problem;
  const n = w.x.length;
  const rows = n + ALL + PRIORS;
  const a = new Float64Array(rows * ALL);
  const b = new Float64Array(rows);
  const size = new Float64Array(P);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < P; j++) {
      a[i * ALL + j] = weight[i] * jac[i * P + j];
      size[j] += a[i * ALL + j] ** 2;
    }
    for (let k = 0; k < LINEAR; k++) a[i * ALL + P + k] = weight[i] * state.design[i * LINEAR + k];
    b[i] = weight[i] * state.residuals[i];
  }
  for (let j = 0; j < P; j++) a[(n + j) * ALL + j] = Math.sqrt(damping * size[j]) + 1e-6;
  for (let k = 0; k < LINEAR; k++) a[(n + P + k) * ALL + P + k] = 1e-3;
  beliefs(problem, p, state.linear).forEach(({ row, miss, sd }, r) => {
    for (const [j, value] of row) a[(n + ALL + r) * ALL + j] = (noise * value) / sd;
    b[n + ALL + r] = (noise * miss) / sd;
  });
  return leastSquares(a, b, rows, ALL);
}

/** Residuals beyond three deviations lose weight: a glint beside a patch must not stretch it. */
function reweigh(weight: Float64Array, residuals: Float64Array): number {
  const sizes = residuals.map(Math.abs).toSorted();
  const scale = Math.max(0.003, 1.4826 * sizes[sizes.length >> 1]);
  for (let i = 0; i < weight.length; i++)
    weight[i] = Math.sqrt(Math.min(1, (3 * scale) / Math.max(1e-9, Math.abs(residuals[i]))));
  return scale;
}

const MOST_ROUNDS = 30;

/** What shines between the patches besides them. */
export type Between = 'nothing' | 'ring' | 'dot';

/** Fits one start; null when it does not settle. */
export function fitPair(copy: WorkingCopy, start: PairStart, step: number, between: Between): PairFit | null {
  const w = windowAbout(copy, start, SIGMA_BELIEF[0]);
  const n = w.x.length;
  if (n < 2 * ALL || w.near.every((v) => v === w.near[0])) return null;
  const problem: Problem = { w, withRing: between !== 'nothing', weight: new Float64Array(n).fill(1), step };
  let p = firstGuess(start, w, between);
  let noise = 0.1 * step;
  let state = evaluate(problem, p, noise);
  let damping = 1e-2;
  for (let round = 0; round < MOST_ROUNDS && state !== null; round++) {
    noise = CORRELATION * Math.sqrt(state.cost / n);
    const jac = jacobian(problem, p, state);
    const before = state.cost + believedCost(problem, p, state.linear, noise);
    let gain = 0;
    while (damping < 1e6) {
      const solved = solveStep(problem, p, state, noise, damping, jac);
      if (solved === null) return null;
      const next = p.map((v, j) => Math.max(LOW[j], Math.min(HIGH[j], v + solved.solution[j])));
      const tried = evaluate(problem, next, noise);
      const after = tried && tried.cost + believedCost(problem, next, tried.linear, noise);
      if (tried !== null && after !== null && after < before) {
        gain = (before - after) / before;
        p = next;
        state = tried;
        damping = Math.max(1e-6, damping / 10);
        break;
      }
      damping *= 10;
    }
    if (gain < 1e-5 && round > 3) break;
    if (damping >= 1e6) damping = 1e-2;
    if (round >= 2) {
      reweigh(problem.weight, state.residuals);
      state = evaluate(problem, p, noise);
    }
  }
  return state && describe(problem, p, state);
}

function firstGuess(start: PairStart, w: Window, between: Between): Float64Array {
  const place = (s: PairStart['one']): number[] => {
    const size = Math.max(2, s.size * w.umPerPx);
    return [(s.x - w.middle.x) * w.umPerPx, (s.y - w.middle.y) * w.umPerPx, 0.9 * size, 1.05 * size];
  };
  const angle = Math.atan2(start.other.y - start.one.y, start.other.x - start.one.x);
  const [shape] = SHAPE_BELIEF;
  const ring = between === 'dot' ? [0, 1.8] : [7, 2];
  return Float64Array.from([
    ...place(start.one),
    ...place(start.other),
    angle,
    shape,
    shape,
    1.3,
    ...ring,
    0,
    0,
    TONE_BELIEF[0],
  ]);
}

function describe(problem: Problem, p: Float64Array, state: State): PairFit | null {
  const { w } = problem;
  const n = w.x.length;
  const residual = Math.sqrt(state.cost / Math.max(1, n - ALL));
  const noise = CORRELATION * residual;
  const solved = solveStep(problem, p, state, noise, 0, jacobian(problem, p, state));
  if (solved === null) return null;
  const standard = (j: number): number => noise * Math.sqrt(solved.inverseNormal[j * ALL + j]);
  const patch = (which: 0 | 1): Patch => {
    const at = which * OTHER;
    return {
      x: p[at + X],
      y: p[at + Y],
      across: 2 * p[at + A],
      along: 2 * p[at + B],
      acrossStandard: 2 * standard(at + A),
      alongStandard: 2 * standard(at + B),
      light: state.linear[which * OF_PATCH],
      exponent: 2 * Math.exp(p[SHAPE + which]),
    };
  };
  return {
    window: w,
    angle: p[ANGLE],
    angleStandard: standard(ANGLE),
    one: patch(0),
    other: patch(1),
    sigma: p[SIGMA],
    ring: problem.withRing && p[RING] > 2.5 ? state.linear[RING_LIGHT] : 0,
    residual,
  };
}

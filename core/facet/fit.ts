import { leastSquares } from '../fit/linear-algebra.ts';
import type { GreyImage } from '../image/grey.ts';
import { blurredEllipse } from './blurred-ellipse.ts';
import type { PairStart } from './find.ts';

/**
 * Two blurred ellipses on one line across the groove, a lamp's ring between them if there is one, and a ground that
 * slopes and bowls. Lengths in um. Grey levels and the ground are linear and solved for in every step.
 */
export type PairFit = {
  /** Middle between the patches, px, and the direction across the groove from left to right, radians (y down). */
  readonly x: number;
  readonly y: number;
  readonly angle: number;
  readonly right: Patch;
  readonly left: Patch;
  readonly sigma: number;
  /** Light of a lamp's ring over the ground. */
  readonly ring: number;
  readonly residual: number;
};

export type Patch = {
  /** Distance of its middle from the pair's middle, um. */
  readonly reach: number;
  /** Full extents, um: across the groove as seen, and along it; standard uncertainties from the fit. */
  readonly across: number;
  readonly along: number;
  readonly acrossStandard: number;
  readonly alongStandard: number;
  /** Light over the ground, grey 0..1. */
  readonly light: number;
};

/** x, y (px), angle, reach right, reach left, across/2 and along/2 right, the same left, ring radius, ring width, sigma. */
const P = 12;
const LINEAR = 7;
const LOW = [-Infinity, -Infinity, -Infinity, 3, 3, 0.8, 0.8, 0.8, 0.8, 3, 0.8, 0.4];
const HIGH = [Infinity, Infinity, Infinity, 40, 40, 14, 25, 14, 25, 12, 5, 3.5];
const DELTA = [0.02, 0.02, 1e-3, 0.02, 0.02, 0.01, 0.01, 0.01, 0.01, 0.02, 0.02, 0.01];
/** Belief about the blur of a hand-held microscope at this magnification, um. */
const SIGMA_BELIEF = [1.2, 0.5] as const;

/** Both flats lie about equally far from the tip's axis, um. */
const REACH_BELIEF = 1;

type Window = {
  readonly px: Float64Array;
  readonly py: Float64Array;
  readonly grey: Float64Array;
  readonly umPerPx: number;
};

function windowAbout(image: GreyImage, start: PairStart, umPerPx: number): Window {
  const reach = start.half + Math.max(...start.sizes) * 1.6 + 9 / umPerPx;
  const px: number[] = [];
  const py: number[] = [];
  const grey: number[] = [];
  for (let y = Math.max(0, Math.ceil(start.y - reach)); y <= Math.min(image.height - 1, start.y + reach); y++)
    for (
      let x = Math.max(0, Math.ceil(start.x - reach));
      x <= Math.min(image.width - 1, start.x + reach);
      x++
    ) {
      if (Math.hypot(x - start.x, y - start.y) > reach) continue;
      px.push(x);
      py.push(y);
      grey.push(image.data[y * image.width + x]);
    }
  return { px: Float64Array.from(px), py: Float64Array.from(py), grey: Float64Array.from(grey), umPerPx };
}

/** Columns of the linear part at every pixel: right patch, left patch, ring, ground, two slopes, bowl. */
function columns(w: Window, p: Float64Array): Float64Array {
  const n = w.px.length;
  const out = new Float64Array(n * LINEAR);
  const [c, s] = [Math.cos(p[2]), Math.sin(p[2])];
  for (let i = 0; i < n; i++) {
    const dx = (w.px[i] - p[0]) * w.umPerPx;
    const dy = (w.py[i] - p[1]) * w.umPerPx;
    const u = c * dx + s * dy;
    const v = -s * dx + c * dy;
    const r = Math.hypot(u, v);
    const at = i * LINEAR;
    out[at] = blurredEllipse(u - p[3], v, p[5], p[6], p[11]);
    out[at + 1] = blurredEllipse(u + p[4], v, p[7], p[8], p[11]);
    // A flat mirrors the lamp as a whole: the ring shows only beside it.
    const beside = Math.max(0, (1 - out[at]) * (1 - out[at + 1]));
    out[at + 2] = beside * Math.exp(-0.5 * ((r - p[9]) / p[10]) ** 2);
    out[at + 3] = 1;
    out[at + 4] = u / 20;
    out[at + 5] = v / 20;
    out[at + 6] = (r * r) / 400;
  }
  return out;
}

type State = {
  readonly linear: Float64Array;
  readonly residuals: Float64Array;
  readonly cost: number;
  readonly design: Float64Array;
};

function evaluate(w: Window, p: Float64Array, withRing: boolean): State | null {
  const n = w.px.length;
  const design = columns(w, p);
  if (!withRing) for (let i = 0; i < n; i++) design[i * LINEAR + 2] = 0;
  // Weak pulls to 0 keep a ring or a patch that is not there from making the system singular.
  const rows = new Float64Array((n + LINEAR) * LINEAR);
  rows.set(design);
  for (let j = 0; j < LINEAR; j++) rows[(n + j) * LINEAR + j] = 1e-3;
  const rhs = new Float64Array(n + LINEAR);
  rhs.set(w.grey);
  const solved = leastSquares(rows, rhs, n + LINEAR, LINEAR);
  if (solved === null) return null;
  const residuals = solved.residuals.slice(0, n);
  const cost = residuals.reduce((sum, r) => sum + r * r, 0);
  return { linear: solved.solution, residuals, cost, design };
}

/** Squared residuals with what the two beliefs add. */
function total(state: State, p: Float64Array, noise: number): number {
  const reach = (noise * (p[3] - p[4])) / REACH_BELIEF;
  const sigma = (noise * (p[11] - SIGMA_BELIEF[0])) / SIGMA_BELIEF[1];
  return state.cost + reach * reach + sigma * sigma;
}

/** Derivatives of the modelled grey values with the linear part held. */
function jacobian(w: Window, p: Float64Array, state: State, withRing: boolean): Float64Array {
  const n = w.px.length;
  const out = new Float64Array(n * P);
  for (let j = 0; j < P; j++) {
    if (!withRing && (j === 9 || j === 10)) continue;
    const moved = p.slice();
    moved[j] += DELTA[j];
    const design = columns(w, moved);
    for (let i = 0; i < n; i++) {
      let change = 0;
      for (let k = 0; k < LINEAR; k++) {
        if (k === 2 && !withRing) continue;
        change += (design[i * LINEAR + k] - state.design[i * LINEAR + k]) * state.linear[k];
      }
      out[i * P + j] = change / DELTA[j];
    }
  }
  return out;
}

/** Joint step of shape and light, so that the one does not chase the other; damping on the shape only. */
function solveStep(
  w: Window,
  p: Float64Array,
  state: State,
  withRing: boolean,
  damping: number,
  noise: number,
) {
  const n = w.px.length;
  const all = P + LINEAR;
  const jac = jacobian(w, p, state, withRing);
  const rows = n + all + 2;
  const a = new Float64Array(rows * all);
  const b = new Float64Array(rows);
  const size = new Float64Array(P);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < P; j++) {
      a[i * all + j] = jac[i * P + j];
      size[j] += jac[i * P + j] ** 2;
    }
    for (let k = 0; k < LINEAR; k++) a[i * all + P + k] = state.design[i * LINEAR + k];
    b[i] = state.residuals[i];
  }
  for (let j = 0; j < P; j++) a[(n + j) * all + j] = Math.sqrt(damping * size[j]) + 1e-6;
  for (let k = 0; k < LINEAR; k++) a[(n + P + k) * all + P + k] = 1e-3;
  // Without a ring hardly anything but this holds the pair's middle.
  a[(rows - 2) * all + 3] = noise / REACH_BELIEF;
  a[(rows - 2) * all + 4] = -noise / REACH_BELIEF;
  b[rows - 2] = (noise * (p[4] - p[3])) / REACH_BELIEF;
  a[(rows - 1) * all + 11] = noise / SIGMA_BELIEF[1];
  b[rows - 1] = (noise * (SIGMA_BELIEF[0] - p[11])) / SIGMA_BELIEF[1];
  return leastSquares(a, b, rows, all);
}

/** Fits one start; null when it does not settle on two patches. */
export function fitPair(
  image: GreyImage,
  start: PairStart,
  umPerPx: number,
  withRing: boolean,
): PairFit | null {
  const w = windowAbout(image, start, umPerPx);
  if (w.px.length < 100) return null;
  const half = start.half * umPerPx;
  const [sr, sl] = start.sizes.map((s) => Math.max(2, s * umPerPx));
  let p = Float64Array.from([
    start.x,
    start.y,
    start.angle,
    half,
    half,
    sr * 0.9,
    sr * 1.1,
    sl * 0.9,
    sl * 1.1,
    7,
    2,
    1.2,
  ]);
  let state = evaluate(w, p, withRing);
  let damping = 1e-2;
  for (let round = 0; round < 25 && state !== null; round++) {
    const noise = Math.sqrt(state.cost / w.px.length);
    const step = solveStep(w, p, state, withRing, damping, noise);
    if (step === null) return null;
    const next = p.map((v, j) => Math.max(LOW[j], Math.min(HIGH[j], v + step.solution[j])));
    const tried = evaluate(w, next, withRing);
    if (tried !== null && total(tried, next, noise) < total(state, p, noise)) {
      const gain = (total(state, p, noise) - total(tried, next, noise)) / state.cost;
      p = next;
      state = tried;
      damping = Math.max(1e-6, damping / 8);
      if (gain < 1e-6) break;
    } else {
      damping *= 8;
      if (damping > 1e6) break;
    }
  }
  return state && describe(w, p, state, withRing);
}

function describe(w: Window, p: Float64Array, state: State, withRing: boolean): PairFit | null {
  const residual = Math.sqrt(state.cost / Math.max(1, w.px.length - P - LINEAR));
  const solved = solveStep(w, p, state, withRing, 0, residual);
  if (solved === null) return null;
  const standard = (j: number): number => residual * Math.sqrt(solved.inverseNormal[j * (P + LINEAR) + j]);
  const patch = (reach: number, a: number, b: number, light: number): Patch => ({
    reach: p[reach],
    across: 2 * p[a],
    along: 2 * p[b],
    acrossStandard: 2 * standard(a),
    alongStandard: 2 * standard(b),
    light: state.linear[light],
  });
  return {
    x: p[0],
    y: p[1],
    angle: p[2],
    right: patch(3, 5, 6, 0),
    left: patch(4, 7, 8, 1),
    sigma: p[11],
    ring: withRing ? state.linear[2] : 0,
    residual,
  };
}

import { leastSquares } from '../fit/linear-algebra.ts';
import { normalQuantile } from '../uncertainty/distributions.ts';
import type { EdgePoints } from './sections.ts';

/**
 * The axis as a curve whose heading goes from one straight piece to another: heading(u) = first + bend S((u - centre)/span),
 * S rising from 0 to 1 over the span, between a plain ramp (a circular arc) and a smooth step (`shape` 0 to 1). Both
 * edges run at half the width from it, the width tapering linearly. Lengths in pixels, u along the chord's arc, in the
 * chord frame: origin at its root end, x towards the tip, y to the right of it (down on screen when it points right).
 */
export type AxisModel = {
  readonly offset: number;
  /** Heading at the root, radians, clockwise on screen against the chord. */
  readonly first: number;
  /** Change of heading from root to tip, radians, clockwise on screen positive. */
  readonly bend: number;
  /** Middle and length of the bend, fractions of the chord's length. */
  readonly centre: number;
  readonly span: number;
  readonly shape: number;
  /** Half widths at both ends of the chord, px. */
  readonly rootHalf: number;
  readonly tipHalf: number;
  /** Width of a flattened or widened end piece over the taper there. */
  readonly endFactor: number;
};

export type Frame = {
  readonly x: number;
  readonly y: number;
  readonly cos: number;
  readonly sin: number;
  readonly length: number;
};

export const toFrame = (f: Frame, x: number, y: number): readonly [u: number, v: number] => [
  f.cos * (x - f.x) + f.sin * (y - f.y),
  -f.sin * (x - f.x) + f.cos * (y - f.y),
];
export const fromFrame = (f: Frame, u: number, v: number): readonly [x: number, y: number] => [
  f.x + f.cos * u - f.sin * v,
  f.y + f.sin * u + f.cos * v,
];

export type AxisFit = {
  readonly model: AxisModel;
  /** Weight 0..1 of every edge point in the end: 0 = not on this tube's edge. */
  readonly weight: Float64Array;
  /** Distance of each point from its modelled edge, px, outwards positive. */
  readonly residual: Float64Array;
  /** Arc position of each point, px. */
  readonly along: Float64Array;
  /** Robust standard deviation of the residuals, px. */
  readonly spread: number;
  /** Covariance of the parameters in the order of AXIS_PARAMETERS, from the spread. */
  readonly covariance: Float64Array;
  readonly cost: number;
};

/** Order of the parameters in the covariance. */
export const AXIS_PARAMETERS = [
  'offset',
  'first',
  'bend',
  'centre',
  'span',
  'shape',
  'rootHalf',
  'tipHalf',
  'endFactor',
] as const;
const P = AXIS_PARAMETERS.length;
/**
 * Weak beliefs that keep place, length and shape of a bend finite where there is none, and the bend (radians) where its
 * place lies beyond the last point: mean, standard deviation. Each weighs as much as one point.
 */
const PRIOR = {
  bend: [0, 0.2],
  centre: [0.5, 0.15],
  span: [0.3, 0.2],
  shape: [0.5, 0.4],
  endFactor: [1, 0.4],
} as const;
const STEPS = 240;
const MARGIN = 0.15;

/** S of the bend at t = 0..1: (1 - shape) t + shape (3 t^2 - 2 t^3). */
function rise(t: number, shape: number): number {
  const c = Math.max(0, Math.min(1, t));
  return (1 - shape) * c + shape * c * c * (3 - 2 * c);
}

/** Heading against the chord at the fraction q of its length, radians. */
export function headingAt(m: AxisModel, q: number): number {
  return m.first + m.bend * rise((q - m.centre) / m.span + 0.5, m.shape);
}

/** The axis as a table over the chord and a margin (a fraction of the chord's length) at both ends. */
export type AxisCurve = {
  readonly u: Float64Array;
  readonly v: Float64Array;
  /** Cosine and sine of the heading. */
  readonly cos: Float64Array;
  readonly sin: Float64Array;
  readonly margin: number;
};

export function traceAxis(m: AxisModel, length: number, margin = MARGIN): AxisCurve {
  const u = new Float64Array(STEPS + 1);
  const v = new Float64Array(STEPS + 1);
  const cos = new Float64Array(STEPS + 1);
  const sin = new Float64Array(STEPS + 1);
  const fraction = (i: number): number => -margin + ((1 + 2 * margin) * i) / STEPS;
  const step = ((1 + 2 * margin) * length) / STEPS;
  for (let i = 0; i <= STEPS; i++) {
    const heading = headingAt(m, fraction(i));
    cos[i] = Math.cos(heading);
    sin[i] = Math.sin(heading);
    if (i === 0) continue;
    const mean = headingAt(m, (fraction(i) + fraction(i - 1)) / 2);
    u[i] = u[i - 1] + step * Math.cos(mean);
    v[i] = v[i - 1] + step * Math.sin(mean);
  }
  // The curve passes through (0, offset) at fraction 0.
  const zero = indexAt(margin, 0);
  const [u0, v0] = [at(u, zero), at(v, zero)];
  for (let i = 0; i <= STEPS; i++) {
    u[i] -= u0;
    v[i] += m.offset - v0;
  }
  return { u, v, cos, sin, margin };
}

/** Place in the table of a fraction of the chord's length. */
const indexAt = (margin: number, q: number): number => ((q + margin) * STEPS) / (1 + 2 * margin);

/** Picture place of the axis at a fraction of the chord's length, with the unit normal to its right. */
export function pointOn(
  curve: AxisCurve,
  frame: Frame,
  q: number,
): { x: number; y: number; nx: number; ny: number } {
  const i = indexAt(curve.margin, q);
  const [x, y] = fromFrame(frame, at(curve.u, i), at(curve.v, i));
  const [cos, sin] = [at(curve.cos, i), at(curve.sin, i)];
  const norm = 1 / Math.hypot(cos, sin);
  const [c, s] = [norm * cos, norm * sin];
  return { x, y, nx: -frame.cos * s - frame.sin * c, ny: -frame.sin * s + frame.cos * c };
}

function at(table: Float64Array, i: number): number {
  const k = Math.max(0, Math.min(table.length - 2, Math.floor(i)));
  return table[k] + (i - k) * (table[k + 1] - table[k]);
}

/** Fraction of the chord's length at the foot point, and signed distance from the axis (right of it positive). */
export function footOn(
  curve: AxisCurve,
  length: number,
  u: number,
  v: number,
): readonly [q: number, d: number] {
  const margin = curve.margin;
  const step = ((1 + 2 * margin) * length) / STEPS;
  let i = indexAt(margin, u / length);
  let d = 0;
  for (let round = 0; round < 4; round++) {
    const k = Math.max(0, Math.min(STEPS, i));
    const j = Math.min(STEPS - 1, Math.floor(k));
    const t = k - j;
    const c = curve.cos[j] + t * (curve.cos[j + 1] - curve.cos[j]);
    const s = curve.sin[j] + t * (curve.sin[j + 1] - curve.sin[j]);
    const norm = 1 / Math.sqrt(c * c + s * s);
    const du = u - curve.u[j] - t * (curve.u[j + 1] - curve.u[j]);
    const dv = v - curve.v[j] - t * (curve.v[j + 1] - curve.v[j]);
    const move = (norm * (c * du + s * dv)) / step;
    i = k + move;
    d = norm * (c * dv - s * du);
    // What is left turns the normal by next to nothing.
    if (Math.abs(move) < 1e-3) break;
  }
  return [(i * (1 + 2 * margin)) / STEPS - margin, d];
}

/** Sideways place of the axis above the chord's point u, px. */
export function axisOffset(curve: AxisCurve, length: number, u: number): number {
  return at(curve.v, indexAt(curve.margin, u / length));
}

type Points = { u: Float64Array; v: Float64Array; side: Int8Array };

function residuals(p: Float64Array, points: Points, length: number, along?: Float64Array): Float64Array {
  const m = unpack(p);
  const curve = traceAxis(m, length);
  const out = new Float64Array(points.u.length);
  for (let i = 0; i < out.length; i++) {
    const [q, d] = footOn(curve, length, points.u[i], points.v[i]);
    const half = m.rootHalf + (m.tipHalf - m.rootHalf) * q;
    // Sides +-2 are edges of the end piece.
    const side = points.side[i];
    out[i] = side === 2 || side === -2 ? (side / 2) * d - half * m.endFactor : side * d - half;
    if (along) along[i] = q * length;
  }
  return out;
}

const unpack = (p: Float64Array): AxisModel => ({
  offset: p[0],
  first: p[1],
  bend: p[2],
  centre: p[3],
  span: p[4],
  shape: p[5],
  rootHalf: p[6],
  tipHalf: p[7],
  endFactor: p[8],
});

const pack = (m: AxisModel): Float64Array => Float64Array.from(AXIS_PARAMETERS, (name) => m[name]);

function clampBend(p: Float64Array): Float64Array {
  p[3] = Math.max(0.1, Math.min(0.9, p[3]));
  p[4] = Math.max(0.03, Math.min(1.2, p[4]));
  p[5] = Math.max(0, Math.min(1.2, p[5]));
  return p;
}

/** Biweight: beyond 5 spreads a point counts nothing. */
function weigh(r: Float64Array, spread: number): Float64Array {
  return r.map((v) => {
    const z = v / (5 * spread);
    return z * z < 1 ? (1 - z * z) ** 2 : 0;
  });
}

/**
 * Standard deviation from a quantile of the sizes: 0.5 is deaf to half the points being wrong. Early rounds listen to
 * more of them (0.8), else a fit may settle on half the tube and throw the other half away.
 */
function robustSpread(r: Float64Array, quantile: number): number {
  const size = r.map(Math.abs).toSorted()[Math.floor(quantile * (r.length - 1))];
  return size / normalQuantile(0.5 + quantile / 2);
}

/**
 * Fits the model to edge points; `start` holds the first guess. The weights start from `first` (1 everywhere if not
 * given) and are found anew from the residuals, so that glue, diamond and dust drop out by themselves.
 */
export function fitAxis(
  edges: Pick<EdgePoints, 'x' | 'y' | 'side'>,
  frame: Frame,
  start: AxisModel,
  rounds: number,
): AxisFit | null {
  const n = edges.x.length;
  const points: Points = { u: new Float64Array(n), v: new Float64Array(n), side: edges.side };
  for (let i = 0; i < n; i++) [points.u[i], points.v[i]] = toFrame(frame, edges.x[i], edges.y[i]);
  let p = clampBend(pack(start));
  let r = residuals(p, points, frame.length);
  let spread = Math.max(0.03, robustSpread(r, 0.8));
  let weight = weigh(r, spread);
  let last: ReturnType<typeof step> = null;
  for (let round = 0; round < rounds; round++) {
    let damping = 1e-3;
    let cost = total(r, weight, p, spread);
    for (let inner = 0; inner < 6; inner++) {
      last = step(p, r, points, frame.length, weight, spread, damping);
      if (last === null) return null;
      const next = clampBend(p.map((v, j) => v + last!.solution[j]));
      const nr = residuals(next, points, frame.length);
      const nextCost = total(nr, weight, next, spread);
      if (nextCost < cost) {
        const gain = (cost - nextCost) / cost;
        p = next;
        r = nr;
        cost = nextCost;
        damping = Math.max(1e-9, damping / 10);
        if (gain < 1e-7) break;
      } else damping *= 20;
    }
    spread = Math.max(0.02, robustSpread(r, round < rounds / 2 ? 0.8 : 0.5));
    weight = weigh(r, spread);
  }
  const final = step(p, r, points, frame.length, weight, spread, 0);
  if (final === null) return null;
  const along = new Float64Array(n);
  residuals(p, points, frame.length, along);
  return {
    model: unpack(p),
    weight,
    residual: r,
    along,
    spread,
    covariance: final.inverseNormal.map((v) => v * spread * spread),
    cost: truncatedCost(r),
  };
}

/** Mean of min(r^2, 1 px^2): one measure for all starts, whatever they threw away. */
const truncatedCost = (r: Float64Array): number =>
  r.reduce((sum, v) => sum + Math.min(v * v, 1), 0) / r.length;

function total(r: Float64Array, weight: Float64Array, p: Float64Array, spread: number): number {
  let sum = 0;
  for (let i = 0; i < r.length; i++) sum += weight[i] * r[i] * r[i];
  for (const [j, [mean, deviation]] of priors()) sum += (((p[j] - mean) / deviation) * spread) ** 2;
  return sum;
}

const priors = (): [number, readonly [number, number]][] => [
  [2, PRIOR.bend],
  [3, PRIOR.centre],
  [4, PRIOR.span],
  [5, PRIOR.shape],
  [8, PRIOR.endFactor],
];

const DELTA = [0.01, 1e-4, 1e-4, 1e-3, 1e-3, 1e-2, 0.01, 0.01, 1e-3];
const PRIORS = 5;

function step(
  p: Float64Array,
  r: Float64Array,
  points: Points,
  length: number,
  weight: Float64Array,
  spread: number,
  damping: number,
) {
  const n = r.length;
  const rows = n + PRIORS + (damping > 0 ? P : 0);
  const a = new Float64Array(rows * P);
  const b = new Float64Array(rows);
  const size = new Float64Array(P);
  for (let j = 0; j < P; j++) {
    const moved = p.slice();
    moved[j] += DELTA[j];
    const rj = residuals(moved, points, length);
    for (let i = 0; i < n; i++) {
      const w = Math.sqrt(weight[i]);
      a[i * P + j] = (w * (rj[i] - r[i])) / DELTA[j];
      size[j] += a[i * P + j] ** 2;
    }
  }
  for (let i = 0; i < n; i++) b[i] = -Math.sqrt(weight[i]) * r[i];
  priors().forEach(([j, [mean, deviation]], k) => {
    a[(n + k) * P + j] = spread / deviation;
    b[n + k] = (-(p[j] - mean) / deviation) * spread;
    size[j] += (spread / deviation) ** 2;
  });
  if (damping > 0)
    for (let j = 0; j < P; j++) a[(n + PRIORS + j) * P + j] = Math.sqrt(damping * size[j]) + 1e-9;
  return leastSquares(a, b, rows, P);
}

import { invertSymmetric, solveSymmetric } from '../fit/normal-equations.ts';
import { SHARED } from './correlated.ts';
import { normalQuantile } from '../uncertainty/distributions.ts';
import {
  type AxisCurve,
  type AxisModel,
  footInto,
  halfAt,
  type Frame,
  motionsAt,
  toFrame,
  traceAxis,
} from './axis-model.ts';
import type { EdgePoints } from './sections.ts';

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
  /**
   * By how much whatever changes with the parameters by `gradient` does so for each px by which a point is moved outwards from
   * the axis: one number a point.
   */
  readonly influence: (gradient: readonly number[]) => Float64Array;
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
  'bulge',
] as const;
const P = AXIS_PARAMETERS.length;
/**
 * Weak beliefs that keep place, length and shape of a bend finite where there is none, and the bend (radians) where its
 * place lies beyond the last point: mean, standard deviation. Each weighs as much as the points that tell something of their own
 * (SHARED of them together): else a bend too small to be seen is put wherever the waves of a file's blocks suit it best.
 */
const PRIOR = {
  bend: [0, 0.2],
  centre: [0.5, 0.15],
  span: [0.3, 0.2],
  shape: [0.5, 0.4],
  endFactor: [1, 0.4],
  bulge: [0, 1],
} as const;

type Points = { u: Float64Array; v: Float64Array; side: Int8Array; partner: Int32Array };

/** Edge points as they are fitted. */
export type FitPoints = Pick<EdgePoints, 'x' | 'y' | 'side' | 'section'>;

/** Everything that the residuals need, at one set of parameters. */
type Evaluated = {
  readonly curve: AxisCurve;
  /** Foot of each point on the axis (fraction) and distance from it, px. */
  readonly foot: { readonly q: Float64Array; readonly d: Float64Array };
  readonly r: Float64Array;
};

/** Sides +-2 are edges of the end piece. */
const isEnd = (side: number): boolean => side === 2 || side === -2;
/** Sides +-3 are pairs of edges of a width of their own: they tell the axis between them and nothing of the taper. */
const isPair = (side: number): boolean => side === 3 || side === -3;

function evaluate(p: Float64Array, points: Points, length: number, near?: Evaluated): Evaluated {
  const m = unpack(p);
  const curve = traceAxis(m, length);
  const n = points.u.length;
  const foot = { q: new Float64Array(n), d: new Float64Array(n) };
  const r = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const guess = near ? near.foot.q[i] : points.u[i] / length;
    footInto(foot, i, curve, length, points.u[i], points.v[i], guess);
    const half = halfAt(m, foot.q[i]);
    const side = points.side[i];
    if (isPair(side)) continue;
    r[i] = isEnd(side) ? (side / 2) * foot.d[i] - half * m.endFactor : side * foot.d[i] - half;
  }
  for (let i = 0; i < n; i++)
    if (isPair(points.side[i])) r[i] = ((points.side[i] / 3) * (foot.d[i] + foot.d[points.partner[i]])) / 2;
  return { curve, foot, r };
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
  bulge: p[9],
});

const pack = (m: AxisModel): Float64Array => Float64Array.from(AXIS_PARAMETERS, (name) => m[name]);

function clampBend(p: Float64Array): Float64Array {
  p[3] = Math.max(0.1, Math.min(0.9, p[3]));
  p[4] = Math.max(0.03, Math.min(1.2, p[4]));
  p[5] = Math.max(0, Math.min(1.2, p[5]));
  return p;
}

/**
 * Biweight: beyond 5 spreads a point counts nothing, and neither does the other edge of its section. A tube that widens
 * widens on both sides: if one edge were kept and the other thrown out, the kept one would look like a bend.
 */
function weigh(r: Float64Array, { partner, side }: Points, spread: Spread): Float64Array {
  const size = r.map((v, i) => Math.abs(v) / (5 * (side[i] > 0 ? spread.right : spread.left)));
  return size.map((own, i) => {
    const z = partner[i] < 0 ? own : Math.max(own, size[partner[i]]);
    return z < 1 ? (1 - z * z) ** 2 : 0;
  });
}

/** Robust standard deviation of all residuals, and of either edge's: one may lie in the shade. px */
type Spread = { readonly all: number; readonly right: number; readonly left: number };

/**
 * Edges are taken to differ from their common spread by no more than this either way, which is known better than what
 * sets them apart. Far enough for an edge that lies in the dark to say next to nothing beside a clear one.
 */
const MOST_APART = 4;

function spreadOf(r: Float64Array, side: Int8Array, quantile: number, least: number): Spread {
  const all = Math.max(least, robustSpread(r, quantile));
  const own = (sign: 1 | -1): number => {
    const mine = r.filter((_, i) => side[i] * sign > 0);
    const spread = mine.length < 20 ? all : robustSpread(mine, quantile);
    return Math.max(all / MOST_APART, Math.min(MOST_APART * all, spread));
  };
  return { all, right: own(1), left: own(-1) };
}

/** Weights of the sum of squares: less for the edge that scatters more. */
const precision = (weight: Float64Array, side: Int8Array, { all, right, left }: Spread): Float64Array =>
  weight.map((w, i) =>
    isPair(side[i])
      ? (2 * w * all ** 2) / (right ** 2 + left ** 2)
      : w * (all / (side[i] > 0 ? right : left)) ** 2,
  );

/** Index of the other edge's point of the same section; -1 in the end piece, where glue hides one. */
function partners({ side, section }: FitPoints): Int32Array {
  const out = new Int32Array(side.length).fill(-1);
  for (const kind of [1, 3]) {
    const right = new Map<number, number>();
    for (let i = 0; i < out.length; i++) if (side[i] === kind) right.set(section[i], i);
    for (let j = 0; j < out.length; j++) {
      const i = side[j] === -kind ? right.get(section[j]) : undefined;
      if (i !== undefined) [out[i], out[j]] = [j, i];
    }
  }
  return out;
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
export function fitAxis(edges: FitPoints, frame: Frame, start: AxisModel, rounds: number): AxisFit | null {
  const n = edges.x.length;
  const points: Points = {
    u: new Float64Array(n),
    v: new Float64Array(n),
    side: edges.side,
    partner: partners(edges),
  };
  for (let i = 0; i < n; i++) [points.u[i], points.v[i]] = toFrame(frame, edges.x[i], edges.y[i]);
  let p = clampBend(pack(start));
  let here = evaluate(p, points, frame.length);
  let spread = spreadOf(here.r, points.side, 0.8, 0.03);
  let weight = weigh(here.r, points, spread);
  let counts = precision(weight, points.side, spread);
  for (let round = 0; round < rounds; round++) {
    let damping = 1e-3;
    let cost = total(here.r, counts, p, spread.all);
    let normal = normalEquations(p, here, points, frame.length, counts, spread.all);
    for (let inner = 0; inner < 6; inner++) {
      const move = damped(normal, damping);
      if (move === null) return null;
      const next = clampBend(p.map((v, j) => v + move[j]));
      const there = evaluate(next, points, frame.length, here);
      const nextCost = total(there.r, counts, next, spread.all);
      if (!(nextCost < cost)) {
        damping *= 20;
        continue;
      }
      const gain = (cost - nextCost) / cost;
      [p, here, cost] = [next, there, nextCost];
      damping = Math.max(1e-9, damping / 10);
      if (gain < 1e-7) break;
      normal = normalEquations(p, here, points, frame.length, counts, spread.all);
    }
    spread = spreadOf(here.r, points.side, round < rounds / 2 ? 0.8 : 0.5, 0.02);
    weight = weigh(here.r, points, spread);
    counts = precision(weight, points.side, spread);
  }
  const { a } = normalEquations(p, here, points, frame.length, counts, spread.all);
  const inverse = invertSymmetric(a, P);
  if (inverse === null) return null;
  return {
    model: unpack(p),
    weight,
    residual: here.r,
    along: here.foot.q.map((q) => q * frame.length),
    spread: spread.all,
    covariance: inverse.map((v) => v * spread.all ** 2),
    cost: truncatedCost(here.r),
    influence: (gradient) => {
      const towards = Float64Array.from(gradient, (_, j) =>
        gradient.reduce((sum, g, k) => sum + inverse[j * P + k] * g, 0),
      );
      const rowOf = rowsOf(p, here, points, frame.length);
      const row = new Float64Array(P);
      const own = counts.map((w, i) => {
        if (w === 0) return 0;
        rowOf(i, row);
        return -w * row.reduce((sum, v, j) => sum + v * towards[j], 0);
      });
      // the two points of a pair tell no more than where their middle is
      return own.map((v, i) => (isPair(points.side[i]) ? (v - own[points.partner[i]]) / 2 : v));
    },
  };
}

/** Mean of min(r^2, 1 px^2): one measure for all starts, whatever they threw away. */
const truncatedCost = (r: Float64Array): number =>
  r.reduce((sum, v) => sum + Math.min(v * v, 1), 0) / r.length;

function total(r: Float64Array, weight: Float64Array, p: Float64Array, spread: number): number {
  let sum = 0;
  for (let i = 0; i < r.length; i++) sum += weight[i] * r[i] * r[i];
  for (const [j, [mean, deviation]] of priors()) sum += SHARED * (((p[j] - mean) / deviation) * spread) ** 2;
  return sum;
}

const priors = (): [number, readonly [number, number]][] => [
  [2, PRIOR.bend],
  [3, PRIOR.centre],
  [4, PRIOR.span],
  [5, PRIOR.shape],
  [8, PRIOR.endFactor],
  [9, PRIOR.bulge],
];

/** The parameters whose effect on the axis is taken from a second curve, a small step away: index and step. */
const CURVED: readonly (readonly [number, number])[] = [
  [2, 1e-4],
  [3, 1e-3],
  [4, 1e-3],
  [5, 1e-2],
];

/** All that move it, in the order of motionsAt: lifting, turning, and those. */
const MOVING = [[0, 1], [1, 1], ...CURVED] as const;

type Normal = { readonly a: Float64Array; readonly g: Float64Array };

/**
 * Derivatives of each point's residual by the parameters. The distance to a curve changes by the curve's own motion along its
 * normal; how the foot slides matters through the taper alone.
 */
function rowsOf(
  p: Float64Array,
  { curve, foot }: Evaluated,
  points: Points,
  length: number,
): (i: number, row: Float64Array) => void {
  const m = unpack(p);
  const curves = CURVED.map(([j, delta]) => {
    const moved = p.slice();
    moved[j] += delta;
    return traceAxis(unpack(moved), length);
  });
  const motion = new Float64Array(3 * (CURVED.length + 2));
  return (i, row) => {
    const [side, q, d] = [points.side[i], foot.q[i], foot.d[i]];
    const end = isEnd(side);
    const [sign, factor] = [side > 0 ? 1 : -1, end ? m.endFactor : isPair(side) ? 0 : 1];
    const taper = (factor * (m.tipHalf - m.rootHalf + 4 * m.bulge * (1 - 2 * q))) / length;
    motionsAt(motion, curve, curves, q);
    for (let k = 0; k < MOVING.length; k++) {
      const [j, delta] = MOVING[k];
      const [across, along, turned] = [motion[3 * k], motion[3 * k + 1], motion[3 * k + 2]];
      row[j] = (-sign * across - taper * (d * turned - along)) / delta;
    }
    row[6] = -factor * (1 - q);
    row[7] = -factor * q;
    row[8] = end ? -halfAt(m, q) : 0;
    row[9] = -factor * 4 * q * (1 - q);
  };
}

/** Normal equations of one step. */
function normalEquations(
  p: Float64Array,
  here: Evaluated,
  points: Points,
  length: number,
  weight: Float64Array,
  spread: number,
): Normal {
  const { r } = here;
  const a = new Float64Array(P * P);
  const g = new Float64Array(P);
  const rowOf = rowsOf(p, here, points, length);
  const row = new Float64Array(P);
  for (let i = 0; i < r.length; i++) {
    const w = weight[i];
    if (w === 0) continue;
    rowOf(i, row);
    for (let j = 0; j < P; j++) {
      const wj = w * row[j];
      g[j] -= wj * r[i];
      for (let k = 0; k <= j; k++) a[j * P + k] += wj * row[k];
    }
  }
  for (const [j, [mean, deviation]] of priors()) {
    a[j * P + j] += SHARED * (spread / deviation) ** 2;
    g[j] -= (SHARED * (p[j] - mean) * spread * spread) / deviation ** 2;
  }
  for (let j = 0; j < P; j++) for (let k = 0; k < j; k++) a[k * P + j] = a[j * P + k];
  return { a, g };
}

/** Solution with the diagonal raised by the damping, scaled so that pixels and radians weigh alike; null if singular. */
function damped({ a, g }: Normal, damping: number): Float64Array | null {
  const scale = g.map((_, j) => 1 / Math.sqrt(a[j * P + j] + 1e-18));
  const scaled = a.map((v, k) => v * scale[Math.floor(k / P)] * scale[k % P]);
  for (let j = 0; j < P; j++) scaled[j * P + j] += damping;
  const solved = solveSymmetric(
    scaled,
    g.map((v, j) => v * scale[j]),
    P,
  );
  return solved && solved.map((v, j) => v * scale[j]);
}

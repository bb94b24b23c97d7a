import { fitCircle } from './circle.ts';
import { eigenSymmetric, leastSquares } from './linear-algebra.ts';

/** Least orthogonal distances. Lengths in the unit of the points, a >= b. */
export type EllipseFit = {
  readonly x: number;
  readonly y: number;
  readonly a: number;
  readonly b: number;
  /** Direction of the long axis, radians from +x towards +y, in (-pi/2, pi/2]. */
  readonly angle: number;
  /** Covariance of (x, y, a, b, angle), row-major 5 x 5, from the residuals. Meaningless for the angle when a = b. */
  readonly covariance: Float64Array;
  readonly residualStandard: number;
  readonly converged: boolean;
};

type Parameters = readonly [x: number, y: number, a: number, b: number, angle: number];

/**
 * Geometric ellipse (Gander, Golub & Strebel, BIT 34 (1994) 558), by Levenberg-Marquardt on the distances to the foot
 * points. Starts from the best circle, stretched along four directions, and keeps the best end. null when no start
 * settles or fewer than six points are given.
 */
export function fitEllipse(x: ArrayLike<number>, y: ArrayLike<number>): EllipseFit | null {
  if (x.length < 6 || y.length !== x.length) return null;
  let best: { p: Parameters; cost: number; converged: boolean } | null = null;
  for (const start of starts(x, y)) {
    const end = descend(x, y, start);
    if (end !== null && (best === null || end.cost < best.cost)) best = end;
  }
  return best && describe(x, y, best.p, best.cost, best.converged);
}

function starts(x: ArrayLike<number>, y: ArrayLike<number>): Parameters[] {
  const circle = fitCircle(x, y);
  const out: Parameters[] = [momentStart(x, y)];
  if (circle !== null)
    for (let k = 0; k < 4; k++)
      out.push([circle.x, circle.y, circle.radius * 1.15, circle.radius * 0.87, (k * Math.PI) / 4]);
  return out;
}

/** Centre and axes from the second moments: right for points all around, a rough start for an arc. */
function momentStart(x: ArrayLike<number>, y: ArrayLike<number>): Parameters {
  const n = x.length;
  const mean = (v: ArrayLike<number>) => Array.from(v).reduce((s, q) => s + q, 0) / n;
  const [mx, my] = [mean(x), mean(y)];
  let [xx, xy, yy] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    xx += (x[i] - mx) ** 2 / n;
    xy += ((x[i] - mx) * (y[i] - my)) / n;
    yy += (y[i] - my) ** 2 / n;
  }
  const { values, vectors } = eigenSymmetric([xx, xy, xy, yy], 2);
  const long = Math.sqrt(2 * values[1]);
  const short = Math.max(Math.sqrt(2 * Math.max(0, values[0])), 0.05 * long);
  return [mx, my, long, short, Math.atan2(vectors[3], vectors[1])];
}

function descend(x: ArrayLike<number>, y: ArrayLike<number>, start: Parameters) {
  let p = start;
  let rows = linearise(x, y, p);
  let damping = 1e-2;
  let converged = false;
  for (let round = 0; round < 300 && !converged; round++) {
    const step = damped(rows, x.length, damping);
    if (step === null) return null;
    const next = p.map((v, j) => v + step[j]) as unknown as Parameters;
    const valid = next[2] > 0 && next[3] > 0 && next.every(Number.isFinite);
    const tried = valid ? linearise(x, y, next) : null;
    const small = Math.hypot(...step.subarray(0, 4)) <= 1e-11 * p[2] && Math.abs(step[4]) < 1e-10;
    if (tried !== null && tried.cost <= rows.cost) {
      p = next;
      rows = tried;
      damping = Math.max(1e-12, damping / 5);
      converged = small;
    } else {
      damping *= 8;
      converged = small || damping > 1e12;
    }
  }
  return { p, cost: rows.cost, converged };
}

type Rows = { readonly design: Float64Array; readonly distance: Float64Array; readonly cost: number };

function damped({ design, distance }: Rows, n: number, damping: number): Float64Array | null {
  const rows = new Float64Array((n + 5) * 5);
  const rhs = new Float64Array(n + 5);
  rows.set(design);
  rhs.set(distance);
  for (let j = 0; j < 5; j++) {
    let norm = 1e-12;
    for (let i = 0; i < n; i++) norm += design[i * 5 + j] ** 2;
    rows[(n + j) * 5 + j] = Math.sqrt(damping * norm);
  }
  return leastSquares(rows, rhs, n + 5, 5)?.solution ?? null;
}

/**
 * Signed distances (outside positive) and how far the outline moves outwards at each foot point for a unit change of
 * each parameter. The foot point's own sliding does not count: it moves along the outline.
 */
function linearise(x: ArrayLike<number>, y: ArrayLike<number>, [cx, cy, a, b, angle]: Parameters): Rows {
  const n = x.length;
  const design = new Float64Array(n * 5);
  const distance = new Float64Array(n);
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  let cost = 0;
  for (let i = 0; i < n; i++) {
    const u = c * (x[i] - cx) + s * (y[i] - cy);
    const v = -s * (x[i] - cx) + c * (y[i] - cy);
    const t = footAngle(u, v, a, b);
    const [fu, fv] = [a * Math.cos(t), b * Math.sin(t)];
    const norm = Math.hypot(b * Math.cos(t), a * Math.sin(t));
    const [nu, nv] = [(b * Math.cos(t)) / norm, (a * Math.sin(t)) / norm];
    distance[i] = nu * (u - fu) + nv * (v - fv);
    cost += distance[i] ** 2;
    design.set(
      [c * nu - s * nv, s * nu + c * nv, nu * Math.cos(t), nv * Math.sin(t), nv * fu - nu * fv],
      i * 5,
    );
  }
  return { design, distance, cost };
}

/** Parameter of the nearest point on the ellipse: bisection on Eberly's monotone function in the first quadrant. */
function footAngle(u: number, v: number, a: number, b: number): number {
  const flip = a < b;
  const [p, q, long, short] = flip ? [Math.abs(v), Math.abs(u), b, a] : [Math.abs(u), Math.abs(v), a, b];
  const ratio = (long / short) ** 2;
  const [z0, z1] = [p / long, q / short];
  let x0: number;
  let x1: number;
  if (z1 > 0) {
    let low = z1 - 1;
    let high = Math.hypot(ratio * z0, z1) - 1;
    for (let i = 0; i < 120; i++) {
      const middle = (low + high) / 2;
      if (middle === low || middle === high) break;
      const g = ((ratio * z0) / (middle + ratio)) ** 2 + (z1 / (middle + 1)) ** 2 - 1;
      if (g > 0) low = middle;
      else high = middle;
    }
    const root = (low + high) / 2;
    x0 = (ratio * z0) / (root + ratio);
    x1 = z1 / (root + 1);
  } else {
    // On the long axis: inside the evolute's cusp the nearest point lies off the axis.
    const inner = (long * p) / (long * long - short * short || 1e-300);
    x0 = inner < 1 ? inner : 1;
    x1 = Math.sqrt(Math.max(0, 1 - x0 * x0));
  }
  const [cu, sv] = flip ? [x1, x0] : [x0, x1];
  return Math.atan2(v < 0 ? -sv : sv, u < 0 ? -cu : cu);
}

function describe(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  p: Parameters,
  cost: number,
  converged: boolean,
): EllipseFit | null {
  const swap = p[2] < p[3];
  const turned = p[4] + (swap ? Math.PI / 2 : 0);
  const angle = turned - Math.PI * Math.ceil(turned / Math.PI - 0.5);
  const [a, b] = swap ? [p[3], p[2]] : [p[2], p[3]];
  const { design, distance } = linearise(x, y, [p[0], p[1], a, b, angle]);
  const solved = leastSquares(design, distance, x.length, 5);
  const variance = cost / Math.max(1, x.length - 5);
  // A perfect circle leaves the angle undetermined; then there is no covariance to give.
  if (solved === null) return null;
  return {
    x: p[0],
    y: p[1],
    a,
    b,
    angle,
    covariance: solved.inverseNormal.map((v) => v * variance),
    residualStandard: Math.sqrt(variance),
    converged,
  };
}

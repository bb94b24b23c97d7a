import { INV_ROOT_2PI, normalBoth, normalCdf, PER_UNIT, TABLE, table } from './normal-table.ts';
import { axesOf, pieceAt, piecesOf, SHAPE_SIZE, support, wedgeOf, type Axes, type Pieces } from './wedge.ts';

/**
 * Blurred silhouette of the rounded wedge and its derivatives. For a Gaussian point spread function
 * m(x0, y0) = integral of g(x - x0) Phi((y_b(x) - y0) / sigma) dx, since in the tip frame the wedge is
 * everything above y_b(x). The integral is a trapezoid sum at 0.45 sigma, spectrally accurate for the smooth parts
 * (the integrand's spectrum falls as exp(-w^2 / (2 + 2 cot^2 h)), w = 2 pi / 0.45: 1e-4 on the steepest flank). Where two
 * pieces of the outline meet, the integrand has a corner; what that does to the sum is known and taken out, see
 * {@link Kink}. A second, wider Gaussian of free weight models in-camera sharpening (negative lobe), disc-like defocus
 * and heavy tails: PSF = (1 + w) G(sigma) - w G(1.6 sigma).
 */
export const WIDE = 1.6;
const STEP = 0.45;
const REACH = 4;

/** Derivatives that one evaluation returns: value, d/dx0, d/dy0, d/dsigma, d/dw, then the shape's eight. */
export const EDGE_SIZE = 5 + SHAPE_SIZE;

/** What of a blurred outline does not depend on the point that is asked for. */
export type EdgeParts = {
  /** Distance from the axis beyond which a flank is a plain line, um: left, right. */
  readonly far: readonly [number, number];
  readonly nodes: Nodes;
  readonly line: FlankLines;
};

export type EdgeModel = {
  /** Fills `out` (EDGE_SIZE) for a point of the tip frame, um. */
  readonly evaluate: (x0: number, y0: number, out: Float64Array) => void;
  /** The value alone, at about a third of the price. */
  readonly value: (x0: number, y0: number) => number;
};

/**
 * A corner of the outline at x = c. A trapezoid sum with step h over a function whose value jumps by J0 and whose slope
 * jumps by J1 at c = node + theta h exceeds the integral by h J0 (theta - 1/2) - h^2 J1 B2(theta)/2 + O(h^3),
 * B2(t) = t^2 - t + 1/6 (Euler-Maclaurin formula, DLMF 2.10.1, on either side of c). The blurred value has only J1; its
 * derivatives by the shape have J0, since moving a piece moves the outline on one side of the corner alone.
 */
export type Kink = {
  readonly x: number;
  readonly y: number;
  /** Slope right of the corner minus slope left of it. */
  readonly turn: number;
  /** Jump of dy_b/d(shape parameter), right minus left. */
  readonly jumps: Float64Array;
};

export type Nodes = {
  readonly xMin: number;
  readonly step: number;
  readonly y: Float64Array;
  /** dy_b/d(shape parameter), SHAPE_SIZE numbers per node; empty where only values are asked for. */
  readonly dy: Float64Array;
  readonly kinks: readonly Kink[];
};

const SHAPE_STEPS = [1e-3, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5, 1e-4, 1e-4];

function nodesOf(shape: ArrayLike<number>, step: number, reach: number, slopes: boolean): Nodes {
  const n = Math.ceil((2 * reach) / step) + 1;
  const xMin = -reach;
  const pieces = piecesOf(wedgeOf(shape));
  const y = new Float64Array(n);
  const active = new Uint8Array(n);
  for (let k = 0; k < n; k++) {
    const x = xMin + k * step;
    active[k] = pieceAt(pieces, x);
    y[k] = pieces[active[k]](x);
  }
  const moved = Float64Array.from({ length: SHAPE_SIZE }, (_, i) => shape[i]);
  const others = (slopes ? SHAPE_STEPS : []).map((h, p) => {
    moved[p] = shape[p] + h;
    const other = piecesOf(wedgeOf(moved));
    moved[p] = shape[p];
    return other;
  });
  const slopeBy = (p: number, piece: number, x: number, here: number): number => {
    const there = others[p][piece](x);
    return Number.isFinite(there) ? (there - here) / SHAPE_STEPS[p] : 0;
  };
  const dy = new Float64Array(slopes ? n * SHAPE_SIZE : 0);
  for (let at = 0; at < dy.length; at++) {
    const k = (at / SHAPE_SIZE) | 0;
    dy[at] = slopeBy(at % SHAPE_SIZE, active[k], xMin + k * step, y[k]);
  }
  const kinks: Kink[] = [];
  for (let k = 0; k + 1 < n; k++)
    if (active[k] !== active[k + 1]) {
      const x = crossingOf(pieces, active[k], active[k + 1], xMin + k * step, xMin + (k + 1) * step);
      const here = pieces[active[k]](x);
      const slope = (piece: number): number => (pieces[piece](x + 1e-4) - pieces[piece](x - 1e-4)) / 2e-4;
      kinks.push({
        x,
        y: here,
        turn: slope(active[k + 1]) - slope(active[k]),
        jumps: Float64Array.from(
          others,
          (_, p) => slopeBy(p, active[k + 1], x, pieces[active[k + 1]](x)) - slopeBy(p, active[k], x, here),
        ),
      });
    }
  return { xMin, step, y, dy, kinks };
}

/** Where two pieces meet between two nodes, by bisection. */
function crossingOf(pieces: Pieces, left: number, right: number, from: number, to: number): number {
  let low = from;
  let high = to;
  for (let i = 0; i < 30; i++) {
    const middle = (low + high) / 2;
    if (pieces[left](middle) <= pieces[right](middle)) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** How far up the outline (x, um) the arc's and the flats' influence reaches; beyond it the flank is a plain line. */
function kneeX(axes: Axes, half: number, wall: number, depth: number): number {
  const h = support(axes, half);
  const tangent = (axes.a * axes.a * Math.cos(half)) / h;
  if (depth <= 0) return tangent;
  const angle = Math.PI / 4 + wall;
  const nm = Math.cos(angle - half);
  const dm = Math.sin(half - angle);
  const offset = support(axes, angle) - depth;
  const t = (h - offset * nm) / dm;
  return Math.max(tangent, offset * Math.cos(angle) - t * Math.sin(angle));
}

/** sigma in um; without `slopes` the nodes carry no derivatives. */
export function edgeParts(shape: ArrayLike<number>, sigma: number, slopes: boolean): EdgeParts {
  const wedge = wedgeOf(shape);
  const axes = axesOf(wedge);
  const left = kneeX(axes, wedge.halfLeft, wedge.wallLeft, wedge.depthLeft);
  const right = kneeX(axes, wedge.halfRight, wedge.wallRight, wedge.depthRight);
  const soft = REACH * WIDE * sigma;
  const reach = Math.max(left, right) + 2 * soft + 2 * wedge.radius;
  return {
    far: [left + soft, right + soft],
    nodes: nodesOf(shape, STEP * sigma, reach, slopes),
    line: flankDerivatives(shape),
  };
}

/**
 * Prepares the blurred edge for one shape and point spread function. sigma in um; weight as in PSF above. Without
 * `slopes` only its `value` may be asked for, and it is ready sooner.
 */
export function edgeModel(shape: ArrayLike<number>, sigma: number, weight: number, slopes = true): EdgeModel {
  const { far, nodes, line } = edgeParts(shape, sigma, slopes);
  const narrow = new Float64Array(EDGE_SIZE);
  const wide = new Float64Array(EDGE_SIZE);
  const isFar = (x0: number): boolean => Math.abs(x0) > (x0 < 0 ? far[0] : far[1]);
  const value = (x0: number, y0: number): number => {
    if (isFar(x0)) {
      const t = flankDistance(line, x0, y0);
      return (1 + weight) * normalCdf(-t / sigma) - weight * normalCdf(-t / (WIDE * sigma));
    }
    return (1 + weight) * blurred(nodes, x0, y0, sigma, 1) - weight * blurred(nodes, x0, y0, WIDE * sigma, 2);
  };
  const evaluate = (x0: number, y0: number, out: Float64Array): void => {
    if (isFar(x0)) {
      flankBlur(line, x0, y0, sigma, narrow);
      flankBlur(line, x0, y0, WIDE * sigma, wide);
    } else {
      blur(nodes, x0, y0, sigma, 1, narrow);
      blur(nodes, x0, y0, WIDE * sigma, 2, wide);
    }
    for (let i = 0; i < EDGE_SIZE; i++) out[i] = (1 + weight) * narrow[i] - weight * wide[i];
    out[3] = (1 + weight) * narrow[3] - weight * WIDE * wide[3];
    out[4] = narrow[0] - wide[0];
  };
  return { evaluate, value };
}

export type FlankLines = { half: number[]; h: number[]; dhR: number[]; dhE: number[]; dhHalf: number[] };
function flankDerivatives(shape: ArrayLike<number>): FlankLines {
  const at = (i: number, d: number): number[] => {
    const moved = Array.from({ length: SHAPE_SIZE }, (_, k) => shape[k] + (k === i ? d : 0));
    const w = wedgeOf(moved);
    const axes = axesOf(w);
    return [support(axes, w.halfLeft), support(axes, w.halfRight)];
  };
  const h = at(-1, 0);
  const diff = (i: number): number[] => at(i, 1e-5).map((v, k) => (v - h[k]) / 1e-5);
  const l = diff(2);
  const r = diff(3);
  return { half: [shape[2], shape[3]], h, dhR: diff(0), dhE: diff(1), dhHalf: [l[0], r[1]] };
}

/** Distance from the flank's line, um, positive outside. */
function flankDistance(line: FlankLines, x0: number, y0: number): number {
  const k = x0 < 0 ? 0 : 1;
  return Math.abs(x0) * Math.cos(line.half[k]) + y0 * Math.sin(line.half[k]) - line.h[k];
}

const normal = { cdf: 0, density: 0 };

function flankBlur(line: FlankLines, x0: number, y0: number, sigma: number, out: Float64Array): void {
  const k = x0 < 0 ? 0 : 1;
  const sign = k === 0 ? -1 : 1;
  const c = Math.cos(line.half[k]);
  const s = Math.sin(line.half[k]);
  const away = sign * x0;
  const t = away * c + y0 * s - line.h[k];
  normalBoth(-t / sigma, normal);
  const density = normal.density / sigma;
  out.fill(0);
  out[0] = normal.cdf;
  out[1] = -density * sign * c;
  out[2] = -density * s;
  out[3] = (density * t) / sigma;
  out[5] = density * line.dhR[k];
  out[6] = density * line.dhE[k];
  out[7 + k] = -density * (-away * s + y0 * c - line.dhHalf[k]);
}

/** What {@link lookAtCorner} saw last. */
const corner = { uc: 0, zc: 0, weight: 0, bend: 0, step: 0 };

/**
 * Where a corner lies from a point, in sigmas (uc, zc), how much it weighs there, and what its place between two nodes of
 * the sum means for a bend and for a step; false where it is out of reach.
 */
function lookAtCorner(
  kink: Kink,
  { xMin, step }: Nodes,
  x0: number,
  y0: number,
  inv: number,
  first: number,
  stride: number,
): boolean {
  const uc = (kink.x - x0) * inv;
  const zc = (kink.y - y0) * inv;
  if (uc < -REACH || uc > REACH || zc < -REACH || zc > REACH) return false;
  const at = ((kink.x - xMin) / step - first) / stride;
  const theta = at - Math.floor(at);
  corner.uc = uc;
  corner.zc = zc;
  corner.weight = INV_ROOT_2PI * INV_ROOT_2PI * Math.exp(-0.5 * (uc * uc + zc * zc));
  corner.bend = theta * theta - theta + 1 / 6;
  corner.step = 0.5 - theta;
  return true;
}

/** The value of {@link blur} alone. */
function blurred(nodes: Nodes, x0: number, y0: number, sigma: number, stride: number): number {
  const { xMin, step, y, kinks } = nodes;
  const first = Math.max(0, Math.ceil((x0 - REACH * sigma - xMin) / step));
  const last = Math.min(y.length - 1, Math.floor((x0 + REACH * sigma - xMin) / step));
  const inv = 1 / sigma;
  const h = stride * step * inv;
  const u = (xMin + first * step - x0) * inv;
  let g = INV_ROOT_2PI * Math.exp((-u * u) / 2);
  let factor = Math.exp(-h * u - (h * h) / 2);
  const shrink = Math.exp(-h * h);
  let total = 0;
  let m = 0;
  for (let k = first; k <= last; k += stride) {
    const z = (y[k] - y0) * inv;
    total += g;
    if (z > -TABLE) {
      if (z < TABLE) {
        const i = ((z + TABLE) * PER_UNIT + 0.5) | 0;
        const node = i / PER_UNIT - TABLE;
        const d = z - node;
        m += g * (table[2 * i] + d * table[2 * i + 1] * (1 - 0.5 * d * (node - (d * (node * node - 1)) / 3)));
      } else m += g;
    }
    g *= factor;
    factor *= shrink;
  }
  for (let i = 0; i < kinks.length; i++) {
    const kink = kinks[i];
    const uc = (kink.x - x0) * inv;
    const zc = (kink.y - y0) * inv;
    if (uc < -REACH || uc > REACH || zc < -4 || zc > 4) continue;
    const at = ((kink.x - xMin) / step - first) / stride;
    const theta = at - Math.floor(at);
    const weight = INV_ROOT_2PI * INV_ROOT_2PI * Math.exp(-0.5 * (uc * uc + zc * zc));
    m += 0.5 * h * weight * kink.turn * (theta * theta - theta + 1 / 6);
  }
  return total > 0 ? m / total : 0;
}

/** Sums of the blur over the nodes within reach, the corners' share of the sum's error taken out. */
function blur(nodes: Nodes, x0: number, y0: number, sigma: number, stride: number, out: Float64Array): void {
  const { xMin, step, y, dy, kinks } = nodes;
  const first = Math.max(0, Math.ceil((x0 - REACH * sigma - xMin) / step));
  const last = Math.min(y.length - 1, Math.floor((x0 + REACH * sigma - xMin) / step));
  const inv = 1 / sigma;
  const h = stride * step * inv;
  let u = (xMin + first * step - x0) * inv;
  let g = INV_ROOT_2PI * Math.exp((-u * u) / 2);
  // g(u + h) = g(u) exp(-h u - h^2/2), and that factor itself shrinks by exp(-h^2) a step
  let factor = Math.exp(-h * u - (h * h) / 2);
  const shrink = Math.exp(-h * h);
  let total = 0;
  let m = 0;
  let dx = 0;
  let dyy = 0;
  let ds = 0;
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let s4 = 0;
  let s5 = 0;
  let s6 = 0;
  let s7 = 0;
  for (let k = first; k <= last; k += stride) {
    const z = (y[k] - y0) * inv;
    total += g;
    if (z > -TABLE) {
      if (z < TABLE) {
        const i = ((z + TABLE) * PER_UNIT + 0.5) | 0;
        const node = i / PER_UNIT - TABLE;
        const d = z - node;
        const at = table[2 * i + 1];
        const q = node * node - 1;
        const phi = table[2 * i] + d * at * (1 - 0.5 * d * (node - (d * q) / 3));
        const gp = g * at * (1 - d * (node - 0.5 * d * q));
        const gphi = g * phi;
        m += gphi;
        dx += gphi * u;
        ds += gphi * (u * u - 1) - gp * z;
        dyy += gp;
        const b = k * SHAPE_SIZE;
        s0 += gp * dy[b];
        s1 += gp * dy[b + 1];
        s2 += gp * dy[b + 2];
        s3 += gp * dy[b + 3];
        s4 += gp * dy[b + 4];
        s5 += gp * dy[b + 5];
        s6 += gp * dy[b + 6];
        s7 += gp * dy[b + 7];
      } else {
        m += g;
        dx += g * u;
        ds += g * (u * u - 1);
      }
    }
    u += h;
    g *= factor;
    factor *= shrink;
  }
  for (let i = 0; i < kinks.length; i++) {
    const kink = kinks[i];
    if (!lookAtCorner(kink, nodes, x0, y0, inv, first, stride)) continue;
    const { uc, zc, weight } = corner;
    const excess = 0.5 * h * weight * kink.turn * corner.bend;
    m += excess;
    dx += excess * uc;
    ds += excess * (uc * uc + zc * zc - 2);
    dyy -= excess * zc;
    const jump = weight * corner.step;
    const { jumps } = kink;
    s0 += jump * jumps[0];
    s1 += jump * jumps[1];
    s2 += jump * jumps[2];
    s3 += jump * jumps[3];
    s4 += jump * jumps[4];
    s5 += jump * jumps[5];
    s6 += jump * jumps[6];
    s7 += jump * jumps[7];
  }
  const norm = total > 0 ? 1 / total : 0;
  const scaled = norm * inv;
  out[0] = m * norm;
  out[1] = dx * scaled;
  out[2] = -dyy * scaled;
  out[3] = ds * scaled;
  out[4] = 0;
  out[5] = s0 * scaled;
  out[6] = s1 * scaled;
  out[7] = s2 * scaled;
  out[8] = s3 * scaled;
  out[9] = s4 * scaled;
  out[10] = s5 * scaled;
  out[11] = s6 * scaled;
  out[12] = s7 * scaled;
}

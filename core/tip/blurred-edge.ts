import { axesOf, boundaryOf, SHAPE_SIZE, support, wedgeOf, type Axes } from './wedge.ts';

/**
 * Blurred silhouette of the rounded wedge and its derivatives. For a Gaussian point spread function
 * m(x0, y0) = integral of g(x - x0) Phi((y_b(x) - y0) / sigma) dx, since in the tip frame the wedge is
 * everything above y_b(x). The integral is a trapezoid sum at 0.3 sigma (spectrally accurate for the smooth parts,
 * 5e-4 at the corners of a flat). A second, wider Gaussian of free weight models in-camera sharpening (negative
 * lobe), disc-like defocus and heavy tails: PSF = (1 + w) G(sigma) - w G(1.6 sigma).
 */
export const WIDE = 1.6;
const STEP = 0.3;
const REACH = 3.5;

const TABLE = 6;
const TABLE_N = 6000;
const phiTable = new Float64Array(2 * TABLE_N + 2);
const gaussTable = new Float64Array(2 * TABLE_N + 2);
{
  const h = TABLE / TABLE_N;
  const root = 1 / Math.sqrt(2 * Math.PI);
  let sum = 0;
  for (let i = 0; i <= 2 * TABLE_N + 1; i++) {
    const z = -TABLE + i * h;
    gaussTable[i] = root * Math.exp((-z * z) / 2);
    phiTable[i] = sum;
    // Simpson over the next cell
    const mid = root * Math.exp((-(z + h / 2) * (z + h / 2)) / 2);
    const next = root * Math.exp((-(z + h) * (z + h)) / 2);
    sum += (h / 6) * (gaussTable[i] + 4 * mid + next);
  }
}
/** Normal distribution function and density by linear interpolation (error below 1e-7). */
export function normalCdf(z: number): number {
  if (z <= -TABLE) return 0;
  if (z >= TABLE) return 1;
  const at = ((z + TABLE) * TABLE_N) / TABLE;
  const i = at | 0;
  return phiTable[i] + (at - i) * (phiTable[i + 1] - phiTable[i]);
}
export function normalDensity(z: number): number {
  if (z <= -TABLE || z >= TABLE) return 0;
  const at = ((z + TABLE) * TABLE_N) / TABLE;
  const i = at | 0;
  return gaussTable[i] + (at - i) * (gaussTable[i + 1] - gaussTable[i]);
}

/** Derivatives that one evaluation returns: value, d/dx0, d/dy0, d/dsigma, d/dw, then the shape's eight. */
export const EDGE_SIZE = 5 + SHAPE_SIZE;

export type EdgeModel = {
  /** Fills `out` (EDGE_SIZE) for a point of the tip frame, um. */
  readonly evaluate: (x0: number, y0: number, out: Float64Array) => void;
};

type Nodes = {
  readonly xMin: number;
  readonly step: number;
  readonly y: Float64Array;
  readonly dy: Float64Array[];
};

const SHAPE_STEPS = [1e-3, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5, 1e-4, 1e-4];

function nodesOf(shape: ArrayLike<number>, step: number, reach: number): Nodes {
  const n = Math.ceil((2 * reach) / step) + 1;
  const xMin = -reach;
  const y = new Float64Array(n);
  const line = boundaryOf(wedgeOf(shape));
  for (let k = 0; k < n; k++) y[k] = line(xMin + k * step);
  const moved = Float64Array.from({ length: SHAPE_SIZE }, (_, i) => shape[i]);
  const dy = SHAPE_STEPS.map((h, p) => {
    moved[p] = shape[p] + h;
    const other = boundaryOf(wedgeOf(moved));
    moved[p] = shape[p];
    const out = new Float64Array(n);
    for (let k = 0; k < n; k++) out[k] = (other(xMin + k * step) - y[k]) / h;
    return out;
  });
  return { xMin, step, y, dy };
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

/** Prepares the blurred edge for one shape and point spread function. sigma in um; weight as in PSF above. */
export function edgeModel(shape: ArrayLike<number>, sigma: number, weight: number): EdgeModel {
  const wedge = wedgeOf(shape);
  const axes = axesOf(wedge);
  const knees = [
    kneeX(axes, wedge.halfLeft, wedge.wallLeft, wedge.depthLeft),
    kneeX(axes, wedge.halfRight, wedge.wallRight, wedge.depthRight),
  ];
  const reach = Math.max(...knees) + REACH * WIDE * sigma * 2 + 2 * wedge.radius;
  const nodes = nodesOf(shape, STEP * sigma, reach);
  const narrow = new Float64Array(EDGE_SIZE);
  const wide = new Float64Array(EDGE_SIZE);
  const line = flankDerivatives(shape);
  const evaluate = (x0: number, y0: number, out: Float64Array): void => {
    const far = Math.abs(x0) > (x0 < 0 ? knees[0] : knees[1]) + REACH * WIDE * sigma;
    if (far) {
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
  return { evaluate };
}

type FlankLines = { half: number[]; h: number[]; dhR: number[]; dhE: number[]; dhHalf: number[] };
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

function flankBlur(line: FlankLines, x0: number, y0: number, sigma: number, out: Float64Array): void {
  const k = x0 < 0 ? 0 : 1;
  const sign = k === 0 ? -1 : 1;
  const c = Math.cos(line.half[k]);
  const s = Math.sin(line.half[k]);
  const away = sign * x0;
  const t = away * c + y0 * s - line.h[k];
  const density = normalDensity(t / sigma) / sigma;
  out.fill(0);
  out[0] = normalCdf(-t / sigma);
  out[1] = -density * sign * c;
  out[2] = -density * s;
  out[3] = (density * t) / sigma;
  out[5] = density * line.dhR[k];
  out[6] = density * line.dhE[k];
  out[7 + k] = -density * (-away * s + y0 * c - line.dhHalf[k]);
}

function blur(nodes: Nodes, x0: number, y0: number, sigma: number, stride: number, out: Float64Array): void {
  const { xMin, step, y, dy } = nodes;
  const first = Math.max(0, Math.ceil((x0 - REACH * sigma - xMin) / step));
  const last = Math.min(y.length - 1, Math.floor((x0 + REACH * sigma - xMin) / step));
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
  const inv = 1 / sigma;
  for (let k = first; k <= last; k += stride) {
    const u = (xMin + k * step - x0) * inv;
    const g = normalDensity(u);
    const z = (y[k] - y0) * inv;
    total += g;
    if (z <= -TABLE) continue;
    const phi = normalCdf(z);
    m += g * phi;
    dx += g * u * phi;
    ds += g * (u * u - 1) * phi;
    if (z >= TABLE) continue;
    const gp = g * normalDensity(z);
    dyy += gp;
    ds -= gp * z;
    s0 += gp * dy[0][k];
    s1 += gp * dy[1][k];
    s2 += gp * dy[2][k];
    s3 += gp * dy[3][k];
    s4 += gp * dy[4][k];
    s5 += gp * dy[5][k];
    s6 += gp * dy[6][k];
    s7 += gp * dy[7][k];
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

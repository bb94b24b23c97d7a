import type { Background } from '../image/background.ts';
import type { GreyImage } from '../image/grey.ts';
import { EDGE_SIZE, edgeModel } from './blurred-edge.ts';
import { axesOf, placeOn, SHAPE_SIZE, wedgeOf } from './wedge.ts';

/**
 * Grey values of one capture around its tip as a function of shape, pose, blur and a smooth interior:
 *   I = B' + (F(s, t) - B') m~,   m~ = m + c m (1 - m),   B' = B (1 + b0 + b1 x/L + b2 y/L)
 * m is the blurred silhouette, F a free interior: linear between knots along the outline (s) and, at each knot, a
 * level and a slope in the depth below the edge (t, down to `depth`); c bends the tone curve (display gamma).
 * Local parameters, in this order: shape (8), x um, y um, rotation, sigma um, w, c, kappa, b0, b1, b2, levels,
 * slopes, and for lit parts humps.
 */
export const POSE = SHAPE_SIZE;
export const SIGMA = SHAPE_SIZE + 3;
export const WEIGHT = SHAPE_SIZE + 4;
export const TONE = SHAPE_SIZE + 5;
/** Relative scale correction of this capture: true um/px = stated * (1 + kappa). */
export const KAPPA = SHAPE_SIZE + 6;
export const FIELD = SHAPE_SIZE + 7;
export const INTERIOR = SHAPE_SIZE + 10;

/** The pixels that take part in a fit, in the picture's own coordinates, um. */
export type Band = {
  readonly n: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly grey: Float64Array;
  /** Field level B at the pixel. */
  readonly field: Float64Array;
  /** Index into the picture. */
  readonly index: Int32Array;
};

export type CaptureModel = {
  readonly umPerPx: number;
  readonly band: Band;
  readonly knots: Float64Array;
  /** Depth below the edge over which the interior may slope, um. */
  readonly depth: number;
  readonly size: number;
  /** A third interior parameter per knot: a glint or a dark line half way down, as lit surfaces have. */
  readonly humps: boolean;
  /** Scale for the field's tilt terms, um. */
  readonly length: number;
};

/** Everything in a band around the outline: `out`/`inside` um away, flanks up to `reach` um along the outline. */
export function bandOf(
  image: GreyImage,
  background: Background,
  umPerPx: number,
  shape: ArrayLike<number>,
  pose: { x: number; y: number; rotation: number },
  limits: { outside: number; inside: number; reach: number; most: number },
): Band {
  const wedge = wedgeOf(shape);
  const axes = axesOf(wedge);
  const c = Math.cos(pose.rotation);
  const s = Math.sin(pose.rotation);
  const r = limits.reach + wedge.radius + limits.outside;
  const x0 = Math.max(0, Math.floor((pose.x - r) / umPerPx));
  const x1 = Math.min(image.width - 1, Math.ceil((pose.x + r) / umPerPx));
  const y0 = Math.max(0, Math.floor((pose.y - r) / umPerPx));
  const y1 = Math.min(image.height - 1, Math.ceil((pose.y + r) / umPerPx));
  const picked: number[] = [];
  for (let j = y0; j <= y1; j++)
    for (let i = x0; i <= x1; i++) {
      const dx = i * umPerPx - pose.x;
      const dy = j * umPerPx - pose.y;
      const place = placeOn(wedge, axes, c * dx - s * dy, s * dx + c * dy);
      if (place.t > limits.outside || place.t < -limits.inside || Math.abs(place.s) > limits.reach) continue;
      picked.push(j * image.width + i);
    }
  // Thinning by a fixed stride coprime to the row keeps the pattern free of columns.
  const stride = Math.max(1, Math.floor(picked.length / limits.most));
  const n = Math.floor(picked.length / stride);
  const band = {
    n,
    x: new Float64Array(n),
    y: new Float64Array(n),
    grey: new Float64Array(n),
    field: new Float64Array(n),
    index: new Int32Array(n),
  };
  for (let k = 0; k < n; k++) {
    const index = picked[k * stride];
    const i = index % image.width;
    const j = (index - i) / image.width;
    band.x[k] = i * umPerPx;
    band.y[k] = j * umPerPx;
    band.grey[k] = image.data[index];
    band.field[k] = background.at(i, j);
    band.index[k] = index;
  }
  return band;
}

/** Per-pixel places on the outline, kept beside the residuals for masking and for the offset profile. */
export type Evaluation = {
  readonly model: Float64Array;
  readonly s: Float64Array;
  readonly t: Float64Array;
  /** dI/d(outward shift of the edge), grey per um: what a missing or extra sliver would change. */
  readonly edge: Float64Array;
};

/**
 * Evaluates the model and hands each pixel's derivative row to `row` (local parameter order). Rows are reused.
 */
export function evaluateCapture(
  m: CaptureModel,
  p: ArrayLike<number>,
  row: (pixel: number, model: number, derivative: Float64Array) => void,
): Evaluation {
  const { band, knots } = m;
  const nk = knots.length;
  const wedge = wedgeOf(p);
  const axes = axesOf(wedge);
  const edge = edgeModel(p, p[SIGMA], p[WEIGHT]);
  const c = Math.cos(p[POSE + 2]);
  const sn = Math.sin(p[POSE + 2]);
  const zoom = 1 + p[KAPPA];
  const e = new Float64Array(EDGE_SIZE);
  const d = new Float64Array(m.size);
  const model = new Float64Array(band.n);
  const s = new Float64Array(band.n);
  const t = new Float64Array(band.n);
  const dEdge = new Float64Array(band.n);
  for (let k = 0; k < band.n; k++) {
    const dx = band.x[k] - p[POSE];
    const dy = band.y[k] - p[POSE + 1];
    const x0 = zoom * (c * dx - sn * dy);
    const y0 = zoom * (sn * dx + c * dy);
    const place = placeOn(wedge, axes, x0, y0);
    s[k] = place.s;
    t[k] = place.t;
    edge.evaluate(x0, y0, e);
    const tone = p[TONE];
    const mask = e[0] + tone * e[0] * (1 - e[0]);
    const toneSlope = 1 + tone * (1 - 2 * e[0]);
    const tilt = 1 + p[FIELD] + (p[FIELD + 1] * x0) / m.length + (p[FIELD + 2] * y0) / m.length;
    const field = band.field[k] * tilt;
    // interior between knots
    const at = knotAt(knots, place.s);
    const depth = Math.min(1, Math.max(0, -place.t / m.depth));
    const w1 = at.fraction;
    const w0 = 1 - w1;
    const i0 = INTERIOR + at.index;
    const hump = 4 * depth * (1 - depth);
    let level = w0 * (p[i0] + p[i0 + nk] * depth) + w1 * (p[i0 + 1] + p[i0 + nk + 1] * depth);
    if (m.humps) level += hump * (w0 * p[i0 + 2 * nk] + w1 * p[i0 + 2 * nk + 1]);
    const gap = (level - field) * toneSlope;
    model[k] = field + (level - field) * mask;
    dEdge[k] = gap * Math.hypot(e[1], e[2]);
    d.fill(0);
    for (let i = 0; i < SHAPE_SIZE; i++) d[i] = gap * e[5 + i];
    const gx = gap * e[1];
    const gy = gap * e[2];
    d[POSE] = zoom * (-c * gx - sn * gy);
    d[POSE + 1] = zoom * (sn * gx - c * gy);
    d[POSE + 2] = -y0 * gx + x0 * gy;
    d[KAPPA] = (x0 * gx + y0 * gy) / zoom;
    d[SIGMA] = gap * e[3];
    d[WEIGHT] = gap * e[4];
    d[TONE] = (level - field) * e[0] * (1 - e[0]);
    const df = band.field[k] * (1 - mask);
    d[FIELD] = df;
    d[FIELD + 1] = (df * x0) / m.length;
    d[FIELD + 2] = (df * y0) / m.length;
    d[i0] += w0 * mask;
    d[i0 + 1] += w1 * mask;
    d[i0 + nk] += w0 * depth * mask;
    d[i0 + nk + 1] += w1 * depth * mask;
    if (m.humps) {
      d[i0 + 2 * nk] += w0 * hump * mask;
      d[i0 + 2 * nk + 1] += w1 * hump * mask;
    }
    row(k, model[k], d);
  }
  return { model, s, t, edge: dEdge };
}

function knotAt(knots: Float64Array, s: number): { index: number; fraction: number } {
  const n = knots.length;
  const step = (knots[n - 1] - knots[0]) / (n - 1);
  const at = Math.min(n - 1 - 1e-9, Math.max(0, (s - knots[0]) / step));
  const index = Math.floor(at);
  return { index, fraction: at - index };
}

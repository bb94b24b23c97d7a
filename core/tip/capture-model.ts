import { EDGE_SIZE, edgeModel } from './blurred-edge.ts';
import { depthProfiles, HUMP, PROFILE_SIZE, RAMP, RIM } from './interior.ts';
import { SHAPE_SIZE, wedgeOf, wornPlacer } from './wedge.ts';

/**
 * Grey values of one capture around its tip as a function of shape, pose, blur and a smooth interior; see
 * {@link pointModel}. The interior is free: linear between knots along the outline (s) and, at each knot, a level at the
 * edge and a slope with the depth below it (down to `depth`), for lit parts a hump half way down as well; c bends the
 * tone curve (display gamma); B' = B (1 + b0 + b1 x/L + b2 y/L) is the field.
 * Local parameters, in this order: shape (8), x um, y um, rotation, sigma um, w, c, kappa, b0, b1, b2, shade, levels,
 * slopes, and for lit parts humps and rims.
 */
export const POSE = SHAPE_SIZE;
export const SIGMA = SHAPE_SIZE + 3;
export const WEIGHT = SHAPE_SIZE + 4;
export const TONE = SHAPE_SIZE + 5;
/** Relative scale correction of this capture: true um/px = stated * (1 + kappa). */
export const KAPPA = SHAPE_SIZE + 6;
export const FIELD = SHAPE_SIZE + 7;
/** How much of the shading goes by the unworn surface: 0 the rim follows the worn edge, 1 a flat cuts it off. */
export const SHADE = SHAPE_SIZE + 10;
export const INTERIOR = SHAPE_SIZE + 11;

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
  /** Two interior parameters more per knot, as lit surfaces have: a glint or a dark line half way down, and a rim. */
  readonly humps: boolean;
  /** Scale for the field's tilt terms, um. */
  readonly length: number;
};

/** What the model says of every pixel of the band. */
export type Evaluation = {
  readonly model: Float64Array;
  /** Distance from the worn outline, um, positive outside. */
  readonly t: Float64Array;
};

/** What the model says of one point; overwritten by the next call. */
export type PointModel = {
  grey: number;
  t: number;
  /** Derivatives by the parameters below INTERIOR. */
  readonly d: Float64Array;
  /** Interior parameters that touch this point (4, or 8 with humps) and the derivatives by them. */
  readonly at: Int32Array;
  readonly inner: Float64Array;
};

/**
 * The model for one set of parameters as a function of a point of the tip frame (x0, y0, um) and the field's level
 * there. Light of the inside, blurred:  U = level m + slope ramp + hump + rim - B' m;  I = B' + U (1 + c (1 - m)). Without
 * `slopes` only grey, t and the place among the knots are renewed, at a quarter of the price.
 */
export function pointModel(
  m: CaptureModel,
  p: ArrayLike<number>,
  slopes = true,
): (x0: number, y0: number, level0: number) => PointModel {
  const { knots } = m;
  const nk = knots.length;
  const place = wornPlacer(wedgeOf(p), slopes);
  const edge = edgeModel(p, p[SIGMA], p[WEIGHT], slopes);
  const profiles = depthProfiles(p[SIGMA], p[WEIGHT], m.depth, { slopes, hump: m.humps });
  const c = Math.cos(p[POSE + 2]);
  const sn = Math.sin(p[POSE + 2]);
  const zoom = 1 + p[KAPPA];
  const e = new Float64Array(EDGE_SIZE);
  const f = new Float64Array(PROFILE_SIZE);
  const tone = p[TONE];
  const shade = p[SHADE];
  const step = (knots[nk - 1] - knots[0]) / (nk - 1);
  const n = m.humps ? 8 : 4;
  const out: PointModel = {
    grey: 0,
    t: 0,
    d: new Float64Array(INTERIOR),
    at: new Int32Array(n),
    inner: new Float64Array(n),
  };
  const { d, at, inner } = out;
  return (x0, y0, level0) => {
    const here = place(x0, y0);
    if (slopes) edge.evaluate(x0, y0, e);
    else e[0] = edge.value(x0, y0);
    const taken = here.t - here.unworn;
    const cut = shade * taken;
    profiles(-here.t, cut < 0 ? 0 : cut > m.depth ? m.depth : cut, f);
    const mask = e[0];
    const tilt = 1 + p[FIELD] + (p[FIELD + 1] * x0) / m.length + (p[FIELD + 2] * y0) / m.length;
    const field = level0 * tilt;
    const along = Math.min(nk - 1 - 1e-9, Math.max(0, (here.s - knots[0]) / step));
    const index = Math.floor(along);
    const w1 = along - index;
    const w0 = 1 - w1;
    const i0 = INTERIOR + index;
    at[0] = i0;
    at[1] = i0 + 1;
    at[2] = i0 + nk;
    at[3] = i0 + nk + 1;
    const level = w0 * p[i0] + w1 * p[i0 + 1];
    const slope = w0 * p[i0 + nk] + w1 * p[i0 + nk + 1];
    let hump = 0;
    let rim = 0;
    // how the inside changes along the edge, grey per um of s
    let drift = (p[i0 + 1] - p[i0]) * mask + (p[i0 + nk + 1] - p[i0 + nk]) * f[RAMP];
    if (m.humps) {
      at[4] = i0 + 2 * nk;
      at[5] = i0 + 2 * nk + 1;
      hump = w0 * p[at[4]] + w1 * p[at[5]];
      at[6] = i0 + 3 * nk;
      at[7] = i0 + 3 * nk + 1;
      rim = w0 * p[at[6]] + w1 * p[at[7]];
      drift += (p[at[5]] - p[at[4]]) * f[HUMP] + (p[at[7]] - p[at[6]]) * f[RIM];
    }
    const light = (level - field) * mask + slope * f[RAMP] + hump * f[HUMP] + rim * f[RIM];
    const g = 1 + tone * (1 - mask);
    out.grey = field + light * g;
    out.t = here.t;
    if (!slopes) return out;
    // by the silhouette, by the depth (dz = -dt), along the edge
    const q = (level - field) * g - tone * light;
    const byDepth = -g * (slope * f[RAMP + 1] + hump * f[HUMP + 1] + rim * f[RIM + 1]);
    const byPlace = (g * drift) / step;
    const gx = q * e[1] + byDepth * here.nx + byPlace * here.ny;
    const gy = q * e[2] + byDepth * here.ny - byPlace * here.nx;
    for (let i = 0; i < SHAPE_SIZE; i++) d[i] = q * e[5 + i] + byDepth * here.dt[i];
    d[SHADE] = 0;
    if (taken > 0) {
      const byShade = g * (slope * f[RAMP + 4] + hump * f[HUMP + 4] + rim * f[RIM + 4]);
      d[SHADE] = byShade * taken;
      // what a wall's plane takes away grows with its depth and turns with it; the rest of the shape moves both outlines
      for (let i = 4; i < SHAPE_SIZE; i++) d[i] += byShade * shade * here.dt[i];
    }
    d[POSE] = zoom * (-c * gx - sn * gy);
    d[POSE + 1] = zoom * (sn * gx - c * gy);
    d[POSE + 2] = -y0 * gx + x0 * gy;
    d[KAPPA] = (x0 * gx + y0 * gy) / zoom;
    d[SIGMA] = q * e[3] + g * (slope * f[RAMP + 2] + hump * f[HUMP + 2] + rim * f[RIM + 2]);
    d[WEIGHT] = q * e[4] + g * (slope * f[RAMP + 3] + hump * f[HUMP + 3] + rim * f[RIM + 3]);
    d[TONE] = light * (1 - mask);
    const df = level0 * (1 - g * mask);
    d[FIELD] = df;
    d[FIELD + 1] = (df * x0) / m.length;
    d[FIELD + 2] = (df * y0) / m.length;
    inner[0] = g * w0 * mask;
    inner[1] = g * w1 * mask;
    inner[2] = g * w0 * f[RAMP];
    inner[3] = g * w1 * f[RAMP];
    if (m.humps) {
      inner[4] = g * w0 * f[HUMP];
      inner[5] = g * w1 * f[HUMP];
      inner[6] = g * w0 * f[RIM];
      inner[7] = g * w1 * f[RIM];
    }
    return out;
  };
}

/** Number of kinds of interior parameters at every knot. */
export const kindsOf = (m: CaptureModel): number => (m.humps ? 4 : 2);

/** Room for the answer of a band. */
export const emptyEvaluation = ({ band: { n } }: CaptureModel): Evaluation => ({
  model: new Float64Array(n),
  t: new Float64Array(n),
});

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
  /** By how much the half width exceeds the straight taper in the chord's middle, px. */
  readonly bulge: number;
};

/** Half width of the tube at the fraction q of the chord's length, px. */
export const halfAt = (m: AxisModel, q: number): number =>
  m.rootHalf + (m.tipHalf - m.rootHalf) * q + 4 * m.bulge * q * (1 - q);

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
  /** Sideways place at the chord's root, px. */
  readonly offset: number;
};

export function traceAxis(m: AxisModel, length: number, margin = MARGIN): AxisCurve {
  const u = new Float64Array(STEPS + 1);
  const v = new Float64Array(STEPS + 1);
  const cos = new Float64Array(STEPS + 1);
  const sin = new Float64Array(STEPS + 1);
  const fraction = (i: number): number => -margin + ((1 + 2 * margin) * i) / STEPS;
  const step = ((1 + 2 * margin) * length) / STEPS;
  // Outside the bend the heading stays, and with it what is asked of it.
  let [last, c, s] = [Number.NaN, 0, 0];
  const turnTo = (heading: number): void => {
    if (heading !== last) [last, c, s] = [heading, Math.cos(heading), Math.sin(heading)];
  };
  for (let i = 0; i <= STEPS; i++) {
    if (i > 0) {
      turnTo(headingAt(m, (fraction(i) + fraction(i - 1)) / 2));
      u[i] = u[i - 1] + step * c;
      v[i] = v[i - 1] + step * s;
    }
    turnTo(headingAt(m, fraction(i)));
    [cos[i], sin[i]] = [c, s];
  }
  // The curve passes through (0, offset) at fraction 0.
  const zero = indexAt(margin, 0);
  const [u0, v0] = [at(u, zero), at(v, zero)];
  for (let i = 0; i <= STEPS; i++) {
    u[i] -= u0;
    v[i] += m.offset - v0;
  }
  return { u, v, cos, sin, margin, offset: m.offset };
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
  footInto(FOOT, 0, curve, length, u, v, u / length);
  return [FOOT.q[0], FOOT.d[0]];
}

const FOOT = { q: new Float64Array(1), d: new Float64Array(1) };

/** The same into place `k` of two arrays, from a first guess of the fraction: fits ask for it millions of times. */
export function footInto(
  out: { readonly q: Float64Array; readonly d: Float64Array },
  at: number,
  curve: AxisCurve,
  length: number,
  u: number,
  v: number,
  guess: number,
): void {
  const margin = curve.margin;
  const step = ((1 + 2 * margin) * length) / STEPS;
  let i = indexAt(margin, guess);
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
  out.q[at] = (i * (1 + 2 * margin)) / STEPS - margin;
  out.d[at] = d;
}

/** Sideways place of the axis above the chord's point u, px. */
export function axisOffset(curve: AxisCurve, length: number, u: number): number {
  return at(curve.v, indexAt(curve.margin, u / length));
}

/**
 * How the axis moves at the fraction q: for its lifting by a pixel, its turning at the chord's root by a radian, and the
 * way to each of some curves near it. Three numbers for each: along the normal (to the right), along the direction, px,
 * and the turn of the heading, radians.
 */
export function motionsAt(out: Float64Array, from: AxisCurve, to: readonly AxisCurve[], q: number): void {
  const i = indexAt(from.margin, q);
  const k = Math.max(0, Math.min(STEPS - 1, Math.floor(i)));
  const t = Math.max(0, Math.min(1, i - k));
  const c = from.cos[k] + t * (from.cos[k + 1] - from.cos[k]);
  const s = from.sin[k] + t * (from.sin[k + 1] - from.sin[k]);
  const u = from.u[k] + t * (from.u[k + 1] - from.u[k]);
  const v = from.v[k] + t * (from.v[k + 1] - from.v[k]);
  out[0] = c;
  out[1] = s;
  out[2] = 0;
  out[3] = c * u + s * (v - from.offset);
  out[4] = s * u - c * (v - from.offset);
  out[5] = 1;
  for (let j = 0; j < to.length; j++) {
    const one = to[j];
    const du = one.u[k] + t * (one.u[k + 1] - one.u[k]) - u;
    const dv = one.v[k] + t * (one.v[k + 1] - one.v[k]) - v;
    out[3 * j + 6] = c * dv - s * du;
    out[3 * j + 7] = c * du + s * dv;
    out[3 * j + 8] =
      c * (one.sin[k] + t * (one.sin[k + 1] - one.sin[k])) -
      s * (one.cos[k] + t * (one.cos[k + 1] - one.cos[k]));
  }
}

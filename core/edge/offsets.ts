import type { CaptureModel } from '../tip/capture-model.ts';
import { INTERIOR, KAPPA, pointModel, POSE, SIGMA } from '../tip/capture-model.ts';
import type { Prepared } from '../tip/single.ts';
import { axesOf, outlineAt, wedgeOf, type Wedge } from '../tip/wedge.ts';
import { median } from '../image/background.ts';

/**
 * How far the picture's edge lies outside (+) or inside (-) the fitted outline, position by position. Both edges are
 * read in the same way, as the outermost place along the outline's normal at which half the step is reached, once in
 * the picture and once in the fitted model of it, so that the inward bias of a blurred curved edge (sigma^2/2R) cancels.
 */
export type Offsets = {
  /** Position along the unworn outline, um, equidistant. */
  readonly s: Float64Array;
  /** Picture minus model along the outward normal, um; NaN where no edge was found. */
  readonly delta: Float64Array;
  /** Robust standard deviation of one reading, um. */
  readonly noise: number;
};

const REACH_OUT = 14;
const REACH_IN = 14;

/**
 * A part lit from the front has an edge of its own brightness everywhere. Where it is fainter by this than along most of the
 * outline, half the step is found in the part's shading as easily as at its edge, and nothing is said about that place.
 */
const FAINT = 0.4;

export function edgeOffsets(
  prepared: Prepared,
  model: CaptureModel,
  p: ArrayLike<number>,
  stepUm: number,
): Offsets {
  const wedge = wedgeOf(p);
  const axes = axesOf(wedge);
  const last = model.knots[model.knots.length - 1];
  const n = Math.max(3, Math.floor((2 * last) / stepUm) + 1);
  const s = Float64Array.from({ length: n }, (_, i) => -last + (2 * last * i) / (n - 1));
  const modelled = pointModel(model, p, false);
  const delta = new Float64Array(n);
  const tilt = frameOf(prepared, p);
  const outline = Array.from(s, (at) => outlineAt(wedge, axes, at));
  // Of the model's edge and of what the picture shows behind it, whichever is less.
  const step = s.map((at, i) => {
    if (prepared.darkPart) return 1;
    const { x, y, nx, ny } = outline[i];
    let most = 0;
    for (let t = 0; t >= -REACH_IN; t -= 1) {
      const q = tilt(x + t * nx, y + t * ny);
      most = Math.max(most, Math.abs(greyAt(prepared, q.x, q.y) - prepared.background.at(q.x, q.y)));
    }
    const q = tilt(x, y);
    return Math.min(Math.abs(interiorLevel(model, p, at) - prepared.background.at(q.x, q.y)), most);
  });
  const faint = prepared.darkPart ? 0 : FAINT * median(Array.from(step).filter(Number.isFinite));
  for (let i = 0; i < n; i++) {
    const o = outline[i];
    if (step[i] < faint) {
      delta[i] = NaN;
      continue;
    }
    const level = interiorLevel(model, p, s[i]);
    const seen = crossing((t) => {
      const q = tilt(o.x + t * o.nx, o.y + t * o.ny);
      const field = prepared.background.at(q.x, q.y);
      return (greyAt(prepared, q.x, q.y) - field) / (level - field || 1);
    }, prepared.umPerPx * 0.5);
    const made = crossingNear(
      (t) => {
        const x = o.x + t * o.nx;
        const y = o.y + t * o.ny;
        const q = tilt(x, y);
        const field = prepared.background.at(q.x, q.y);
        return (modelled(x, y, field).grey - field) / (level - field || 1);
      },
      prepared.umPerPx * 0.5,
      4 * p[SIGMA] - wornDepth(wedge, s[i]),
    );
    delta[i] = seen - made;
  }
  const smooth = movingMean(delta, Math.max(1, Math.round(1.5 / stepUm)));
  const finite = Array.from(smooth).filter(Number.isFinite);
  const centre = median(finite);
  const noise = Math.max(0.03, 1.4826 * median(finite.map((v) => Math.abs(v - centre))));
  return { s, delta: smooth, noise };
}

/** Tip frame (um) to picture (px) for one capture's parameters. */
export function frameOf(
  prepared: Prepared,
  p: ArrayLike<number>,
): (x: number, y: number) => { x: number; y: number } {
  const k = prepared.umPerPx * (1 + p[KAPPA]);
  const c = Math.cos(p[POSE + 2]) / k;
  const sn = Math.sin(p[POSE + 2]) / k;
  const x0 = p[POSE] / prepared.umPerPx;
  const y0 = p[POSE + 1] / prepared.umPerPx;
  return (x, y) => ({ x: x0 + c * x + sn * y, y: y0 - sn * x + c * y });
}

function interiorLevel(model: CaptureModel, p: ArrayLike<number>, s: number): number {
  const { knots } = model;
  const step = knots[1] - knots[0];
  const at = Math.min(knots.length - 1 - 1e-9, Math.max(0, (s - knots[0]) / step));
  const i = Math.floor(at);
  const f = at - i;
  return p[INTERIOR + i] * (1 - f) + p[INTERIOR + i + 1] * f;
}

/** Grey value between pixels, bilinear; NaN at the frame's rim and beyond. */
export function greyAt(prepared: Prepared, x: number, y: number): number {
  const { width, height, data } = prepared.image;
  if (x < 1 || y < 1 || x > width - 3 || y > height - 3) return NaN;
  const i = Math.floor(x);
  const j = Math.floor(y);
  const fx = x - i;
  const fy = y - j;
  const k = j * width + i;
  return (
    (1 - fy) * ((1 - fx) * data[k] + fx * data[k + 1]) +
    fy * ((1 - fx) * data[k + width] + fx * data[k + width + 1])
  );
}

/** First t, coming from outside, at which the profile rises through one half and stays there for one step. */
function crossing(profile: (t: number) => number, step: number, from = REACH_OUT): number {
  let before = profile(from);
  for (let t = from - step; t >= -REACH_IN; t -= step) {
    const now = profile(t);
    if (Number.isNaN(now)) return NaN;
    if (now >= 0.5 && before < 0.5 && profile(t - step) >= 0.5)
      return t + (step * (now - 0.5)) / (now - before || 1);
    before = now;
  }
  return NaN;
}

/**
 * The same for the model, which is smooth and empty outside: on the same places, begun at `from` instead of far out.
 */
function crossingNear(profile: (t: number) => number, step: number, from: number): number {
  const steps = Math.max(0, Math.floor((REACH_OUT - from) / step));
  return crossing(profile, step, REACH_OUT - steps * step);
}

function movingMean(values: Float64Array, half: number): Float64Array {
  return values.map((_, i) => {
    let sum = 0;
    let n = 0;
    for (let k = Math.max(0, i - half); k <= Math.min(values.length - 1, i + half); k++)
      if (Number.isFinite(values[k])) {
        sum += values[k];
        n++;
      }
    return n > 0 ? sum / n : NaN;
  });
}

/** Distance from the unworn outline at s inwards to the worn one along the unworn normal, um (0: unworn there). */
export function wornDepth(w: Wedge, s: number): number {
  const axes = axesOf(w);
  const o = outlineAt(w, axes, s);
  let depth = 0;
  for (const side of [-1, 1] as const) {
    const d = side < 0 ? w.depthLeft : w.depthRight;
    if (!(d > 0)) continue;
    const angle = Math.PI / 4 + (side < 0 ? w.wallLeft : w.wallRight);
    const nx = side * Math.cos(angle);
    const ny = Math.sin(angle);
    const offset = Math.hypot(axes.a * nx, axes.b * ny) - d;
    const facing = o.nx * nx + o.ny * ny;
    if (facing <= 0.05) continue;
    depth = Math.max(depth, (o.x * nx + o.y * ny - offset) / facing);
  }
  return depth;
}

/** Polar angle in the tip frame of the outline's point at s: 0 right, 90 apex, 180 left. Degrees. */
export function polarAt(w: Wedge, s: number): number {
  const o = outlineAt(w, axesOf(w), s);
  return (Math.atan2(o.y, o.x) * 180) / Math.PI;
}

/** A run of positions whose value leaves the band +-threshold for at least `least` um. */
export type Run = { from: number; to: number; extreme: number; at: number };
export function runsBeyond(s: Float64Array, value: Float64Array, threshold: number, least: number): Run[] {
  const runs: Run[] = [];
  let open: Run | null = null;
  for (let i = 0; i < s.length; i++) {
    const v = value[i];
    const beyond = Number.isFinite(v) && Math.abs(v) > threshold;
    if (beyond && open && Math.sign(v) === Math.sign(open.extreme)) {
      open.to = s[i];
      if (Math.abs(v) > Math.abs(open.extreme)) {
        open.extreme = v;
        open.at = s[i];
      }
    } else {
      if (open) runs.push(open);
      open = beyond ? { from: s[i], to: s[i], extreme: v, at: s[i] } : null;
    }
  }
  if (open) runs.push(open);
  return runs.filter((r) => r.to - r.from >= least);
}

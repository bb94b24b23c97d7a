import { median } from '../fit/select.ts';
import { levelAt } from '../image/background.ts';
import { INTERIOR, type CaptureModel } from '../tip/capture-model.ts';
import type { Prepared } from '../tip/single.ts';
import { axesOf, outlineAt, wedgeOf, type Wedge } from '../tip/wedge.ts';
import { columnOf, frameOf, greyAt, modelEdges, pictureEdge, REACH_IN, rowOf } from './read-edges.ts';

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
  const frame = frameOf(prepared, p);
  const { surface } = prepared.background;
  const outline = Array.from(s, (at) => outlineAt(wedge, axes, at));
  // Of the model's edge and of what the picture shows behind it, whichever is less.
  const step = s.map((at, i) => {
    if (prepared.darkPart) return 1;
    const { x, y, nx, ny } = outline[i];
    let most = 0;
    for (let t = 0; t >= -REACH_IN; t -= 1) {
      const column = columnOf(frame, x + t * nx, y + t * ny);
      const row = rowOf(frame, x + t * nx, y + t * ny);
      most = Math.max(most, Math.abs(greyAt(prepared, column, row) - levelAt(surface, column, row)));
    }
    const field = levelAt(surface, columnOf(frame, x, y), rowOf(frame, x, y));
    return Math.min(Math.abs(interiorLevel(model, p, at) - field), most);
  });
  const faint = prepared.darkPart ? 0 : FAINT * median(Array.from(step).filter(Number.isFinite));
  const read = Array.from(s, (_, i) => i).filter((i) => !(step[i] < faint));
  const places = read.map((i) => ({
    foot: outline[i],
    level: interiorLevel(model, p, s[i]),
    worn: wornDepth(wedge, s[i]),
  }));
  const made = modelEdges({ prepared, model, p }, places);
  const delta = new Float64Array(n).fill(NaN);
  places.forEach(({ foot, level }, k) => {
    delta[read[k]] = pictureEdge(prepared, frame, foot, level) - made[k];
  });
  const smooth = movingMean(delta, Math.max(1, Math.round(1.5 / stepUm)));
  const finite = Array.from(smooth).filter(Number.isFinite);
  const centre = median(finite);
  const noise = Math.max(0.03, 1.4826 * median(finite.map((v) => Math.abs(v - centre))));
  return { s, delta: smooth, noise };
}

function interiorLevel(model: CaptureModel, p: ArrayLike<number>, s: number): number {
  const { knots } = model;
  const step = knots[1] - knots[0];
  const at = Math.min(knots.length - 1 - 1e-9, Math.max(0, (s - knots[0]) / step));
  const i = Math.floor(at);
  const f = at - i;
  return p[INTERIOR + i] * (1 - f) + p[INTERIOR + i + 1] * f;
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

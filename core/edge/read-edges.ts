import { levelAt } from '../image/background.ts';
import { KAPPA, POSE, SIGMA, type CaptureModel } from '../tip/capture-model.ts';
import { modelAt } from '../tip/model-at.ts';
import type { Prepared } from '../tip/single.ts';

/**
 * Where an edge crosses half its step along the outline's normal, t um outwards of the unworn outline: in a picture, and in
 * the model of it on the same places. What is asked of every pixel passes numbers only: a function handed on, or a point
 * returned, is a few numbers on the heap each time.
 */

/** How far from the outline an edge is looked for, um. */
export const REACH_OUT = 14;
export const REACH_IN = 14;

/** A point of the outline with its outward normal. */
export type Foot = { readonly x: number; readonly y: number; readonly nx: number; readonly ny: number };

/** Tip frame (um) to picture (px) for one capture's parameters. */
export type Frame = { readonly x0: number; readonly y0: number; readonly c: number; readonly s: number };

export function frameOf(prepared: Prepared, p: ArrayLike<number>): Frame {
  const k = prepared.umPerPx * (1 + p[KAPPA]);
  return {
    x0: p[POSE] / prepared.umPerPx,
    y0: p[POSE + 1] / prepared.umPerPx,
    c: Math.cos(p[POSE + 2]) / k,
    s: Math.sin(p[POSE + 2]) / k,
  };
}
export const columnOf = ({ x0, c, s }: Frame, x: number, y: number): number => x0 + c * x + s * y;
export const rowOf = ({ y0, c, s }: Frame, x: number, y: number): number => y0 - s * x + c * y;

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

/** Share of the step from the field to `level` that the picture shows at t. */
function shareAt(prepared: Prepared, frame: Frame, foot: Foot, level: number, t: number): number {
  const x = foot.x + t * foot.nx;
  const y = foot.y + t * foot.ny;
  const column = columnOf(frame, x, y);
  const row = rowOf(frame, x, y);
  const field = levelAt(prepared.background.surface, column, row);
  return (greyAt(prepared, column, row) - field) / (level - field || 1);
}

const stepOf = (prepared: Prepared): number => 0.5 * prepared.umPerPx;

/**
 * The picture's edge: first t, coming from outside, at which it rises through one half of the step to `level` and stays there
 * for one step; NaN where there is none.
 */
export function pictureEdge(prepared: Prepared, frame: Frame, foot: Foot, level: number): number {
  const step = stepOf(prepared);
  let before = shareAt(prepared, frame, foot, level, REACH_OUT);
  for (let t = REACH_OUT - step; t >= -REACH_IN; t -= step) {
    const now = shareAt(prepared, frame, foot, level, t);
    if (Number.isNaN(now)) return NaN;
    if (now >= 0.5 && before < 0.5 && shareAt(prepared, frame, foot, level, t - step) >= 0.5)
      return t + (step * (now - 0.5)) / (now - before || 1);
    before = now;
  }
  return NaN;
}

/** What a model's edges are read from. */
export type Modelled = {
  readonly prepared: Prepared;
  readonly model: CaptureModel;
  readonly p: ArrayLike<number>;
};

/** An outline's point with the inside's level there and how deep the worn outline lies below it, um. */
export type Place = { readonly foot: Foot; readonly level: number; readonly worn: number };

/** Blur's standard deviations outside of the worn outline at which a model's edge is begun: it is empty further out. */
const EMPTY = 4;
/** And so many inside of it nearly every edge has been met. */
const MET = 1.5;

/** The edges of the fitted model, read in the same way; all places at once, and only those further in that want it. */
export function modelEdges(modelled: Modelled, places: readonly Place[]): Float64Array {
  const sigma = modelled.p[SIGMA];
  const found = edgesDownTo(modelled, places, ({ worn }) => Math.max(-REACH_IN, -worn - MET * sigma));
  const open = places.filter((_, i) => Number.isNaN(found[i]));
  const further = open.length === 0 ? found : edgesDownTo(modelled, open, () => -REACH_IN);
  let next = 0;
  return found.map((t) => (Number.isNaN(t) ? further[next++] : t));
}

function edgesDownTo(
  { prepared, model, p }: Modelled,
  places: readonly Place[],
  endOf: (place: Place) => number,
): Float64Array {
  const step = stepOf(prepared);
  const frame = frameOf(prepared, p);
  // on the picture's places, but begun nearer
  const beginOf = ({ worn }: Place): number =>
    REACH_OUT - step * Math.max(0, Math.floor((REACH_OUT - (EMPTY * p[SIGMA] - worn)) / step));
  const counts = places.map((place) => Math.max(0, Math.floor((beginOf(place) - endOf(place)) / step)) + 2);
  const n = counts.reduce((sum, count) => sum + count, 0);
  const points = { x: new Float64Array(n), y: new Float64Array(n), field: new Float64Array(n) };
  const { surface } = prepared.background;
  let k = 0;
  for (let i = 0; i < places.length; i++) {
    const { foot } = places[i];
    let t = beginOf(places[i]);
    for (const end = k + counts[i]; k < end; k++, t -= step) {
      points.x[k] = foot.x + t * foot.nx;
      points.y[k] = foot.y + t * foot.ny;
      const column = columnOf(frame, points.x[k], points.y[k]);
      points.field[k] = levelAt(surface, column, rowOf(frame, points.x[k], points.y[k]));
    }
  }
  const share = modelAt(model, p, points);
  k = 0;
  return Float64Array.from(places, (place, i) => {
    const first = k;
    k += counts[i];
    for (let at = first; at < k; at++) {
      const field = points.field[at];
      share[at] = (share[at] - field) / (place.level - field || 1);
    }
    return crossingIn(share.subarray(first, k), beginOf(place), step);
  });
}

/** As `pictureEdge`, in a row of values `step` apart from t = `begin` inwards; NaN where it is not in there. */
function crossingIn(share: Float64Array, begin: number, step: number): number {
  let t = begin - step;
  for (let i = 1; i + 1 < share.length; i++, t -= step) {
    const before = share[i - 1];
    const now = share[i];
    if (Number.isNaN(now)) return NaN;
    if (now >= 0.5 && before < 0.5 && share[i + 1] >= 0.5)
      return t + (step * (now - 0.5)) / (now - before || 1);
  }
  return NaN;
}

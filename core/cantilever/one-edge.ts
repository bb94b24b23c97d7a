import { fitAxis, type AxisFit, type FitPoints } from './axis-fit.ts';
import type { Frame } from './axis-model.ts';

/**
 * The fit with one edge of the end piece alone: what sticks to the other one must not pull it, not even where it crosses
 * the course that a wider end would have. `share`: of that edge's points that take part.
 */
export function oneEdge(
  points: FitPoints,
  from: number,
  side: 2 | -2,
  frame: Frame,
  start: AxisFit,
): { points: FitPoints; fit: AxisFit; share: number } | null {
  const keep = Array.from(points.x.keys()).filter((i) => i < from || points.side[i] === side);
  if (keep.length - from < LEAST_ONE_EDGE) return null;
  const own: FitPoints = {
    x: Float64Array.from(keep, (i) => points.x[i]),
    y: Float64Array.from(keep, (i) => points.y[i]),
    side: Int8Array.from(keep, (i) => points.side[i]),
    section: Int32Array.from(keep, (i) => points.section[i]),
  };
  const fit = fitAxis(own, frame, start.model, 6);
  if (fit === null) return null;
  const used = fit.weight.subarray(from);
  return { points: own, fit, share: used.filter((w) => w > 0.3).length / used.length };
}

/** Points of one edge below which it tells nothing. */
const LEAST_ONE_EDGE = 12;

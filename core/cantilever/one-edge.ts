import { fitAxis, type AxisFit, type FitPoints } from './axis-fit.ts';
import type { Frame } from './axis-model.ts';
import { chosen } from './points.ts';
import { startsOfOneEdge } from './starts.ts';

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
  const own = chosen(points, keep);
  const even = chosen(points, keep.slice(0, from));
  const edge = chosen(points, keep.slice(from));
  // The even part alone is many points and scatters little: from its own course the fit would not see this edge.
  const fits = [start.model, ...startsOfOneEdge(even, edge, frame, start.model)].flatMap((model) => {
    const one = fitAxis(own, frame, model, 6);
    return one === null ? [] : [one];
  });
  if (fits.length === 0) return null;
  const fit = fits.reduce((a, b) => (b.cost < a.cost ? b : a));
  const used = fit.weight.subarray(from);
  return { points: own, fit, share: used.filter((w) => w > 0.3).length / used.length };
}

/** Points of one edge below which it tells nothing. */
const LEAST_ONE_EDGE = 12;

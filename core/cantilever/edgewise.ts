import { leastSquares } from '../fit/linear-algebra.ts';
import type { AxisFit } from './axis-fit.ts';
import { axisOffset, type Frame, traceAxis } from './axis-model.ts';

/**
 * What either edge says about the bend on its own, with place and course of the bend as fitted from both: an edge of
 * a tapered tube turns by the same angle as its axis. Glue, a collar, dirt and a highlight move one edge and not the other.
 */
export type EdgeBends = {
  /** Right edge's bend less the left edge's, radians; its standard deviation from the scatter alone. */
  readonly difference: number;
  readonly standard: number;
};

const TURN = 1e-3;
const LEAST_POINTS = 20;
/** No edge of a tube in use turns by much more, radians: only keeps finite what the points do not tell. */
const LIKELY_BEND = 0.2;
/** Deviations up to which a point counts in full. */
const HUBER = 2;

/** null when one edge has too few points. Points of the end piece (sides +-2) do not count: its width is its own. */
export function edgeBends(
  fit: AxisFit,
  sides: ArrayLike<number>,
  frame: Pick<Frame, 'length'>,
): EdgeBends | null {
  const { model, along, residual } = fit;
  // Its own weights: points that the fit threw away still say that something is wrong there.
  const near = HUBER * Math.max(0.1, fit.spread);
  const weight = residual.map((r) => (Math.abs(r) > 12 * near ? 0 : Math.min(1, near / Math.abs(r))));
  const base = traceAxis(model, frame.length, 0.6);
  const turned = traceAxis({ ...model, bend: model.bend + TURN }, frame.length, 0.6);
  const perBend = (u: number): number =>
    (axisOffset(turned, frame.length, u) - axisOffset(base, frame.length, u)) / TURN;
  const own = (side: 1 | -1): { bend: number; variance: number } | null => {
    const list = Array.from(along.keys()).filter((i) => sides[i] === side && weight[i] > 0);
    if (list.length < LEAST_POINTS) return null;
    const rows = new Float64Array(3 * (list.length + 1));
    const rhs = new Float64Array(list.length + 1);
    rows[3 * list.length + 2] = near / (LIKELY_BEND * frame.length);
    list.forEach((i, k) => {
      const w = Math.sqrt(weight[i]);
      rows.set([w, (w * along[i]) / frame.length, (w * perBend(along[i])) / frame.length], 3 * k);
      rhs[k] = w * side * residual[i];
    });
    const solved = leastSquares(rows, rhs, list.length + 1, 3);
    if (solved === null) return null;
    const noise = solved.sumOfSquares / Math.max(1, list.length - 3);
    return {
      bend: solved.solution[2] / frame.length,
      variance: (noise * solved.inverseNormal[8]) / frame.length ** 2,
    };
  };
  const right = own(1);
  const left = own(-1);
  if (right === null || left === null) return null;
  return { difference: right.bend - left.bend, standard: Math.sqrt(right.variance + left.variance) };
}

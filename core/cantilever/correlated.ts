import type { AxisFit } from './axis-fit.ts';

/**
 * Neighbouring sections share lines of the picture and blocks of a file's compression: so many of them tell as much as one.
 * Noise that is one value over blocks of 8 px has, after a mean of 7 lines, an integrated correlation of 8 / 0.714.
 */
export const SHARED = 11.2;

/** Lags are summed up to this many correlation lengths (Sokal's window), and to this part of the edge. */
const WINDOW = 5;
const MOST_LAGS = 1 / 6;

/**
 * By how much neighbouring sections that go wrong together raise the deviation of whatever is fitted to them: the root of
 * the integrated correlation 1 + 2 sum(rho_k) of the residuals along either edge, both pooled. A flare that no taper
 * explains, a fibre along an edge or waves of a file's compression show in it; independent scatter gives 1.
 */
export function correlationOf({ residual, weight }: AxisFit, sides: ArrayLike<number>): number {
  const edges = [1, -1].map((side) => {
    const list: number[] = [];
    for (let i = 0; i < residual.length; i++)
      if (sides[i] === side && weight[i] > 0.1) list.push(residual[i]);
    return list;
  });
  const product = (lag: number): number => {
    let [sum, count] = [0, 0];
    for (const list of edges)
      for (let i = lag; i < list.length; i++) {
        sum += list[i] * list[i - lag];
        count++;
      }
    return sum / Math.max(1, count);
  };
  const variance = product(0);
  if (!(variance > 0)) return 1;
  const most = MOST_LAGS * Math.max(...edges.map((list) => list.length));
  let integrated = 1;
  for (let lag = 1; lag < most && lag < WINDOW * integrated; lag++)
    integrated += (2 * product(lag)) / variance;
  return Math.sqrt(Math.max(1, integrated));
}

import type { BudgetLine } from '../../shared/index.ts';
import { combineBudget } from '../uncertainty/index.ts';

export type TwoPointScale = {
  readonly umPerPx: number;
  readonly standardUmPerPx: number;
  readonly expandedUmPerPx: number;
  readonly budget: BudgetLine[];
};

/** A person hits a sharp mark to about this, one standard deviation, px. */
const POINTING_PX = 1;

/**
 * Scale from two marked points (picture pixels) of known distance. `pointingPx`: standard uncertainty of one pointing in
 * x and in y; `distanceStandardUm`: of the known distance. Throws when the points coincide.
 */
export function scaleFromTwoPoints(
  a: { readonly x: number; readonly y: number },
  b: { readonly x: number; readonly y: number },
  distanceUm: number,
  known: { readonly pointingPx?: number; readonly distanceStandardUm?: number } = {},
): TwoPointScale {
  const pixels = Math.hypot(b.x - a.x, b.y - a.y);
  if (!(pixels > 0)) throw new RangeError('scaleFromTwoPoints: two different points were expected');
  if (!(distanceUm > 0))
    throw new RangeError(`distanceUm: a positive distance was expected, got ${distanceUm}`);
  const umPerPx = distanceUm / pixels;
  const pointing = known.pointingPx ?? POINTING_PX;
  const budget: BudgetLine[] = [
    {
      source: 'pointing',
      // Only the parts along the line count, one from each end.
      standard: (umPerPx * Math.SQRT2 * pointing) / pixels,
      type: 'B',
      degreesOfFreedom: null,
      note: known.pointingPx === undefined ? 'one pixel at each end assumed' : 'as stated, at each end',
    },
    {
      source: 'distance',
      standard: (umPerPx * (known.distanceStandardUm ?? 0)) / distanceUm,
      type: 'B',
      degreesOfFreedom: null,
      note: known.distanceStandardUm === undefined ? 'taken as exact' : 'as stated',
    },
  ];
  const sum = combineBudget(budget);
  return { umPerPx, standardUmPerPx: sum.standard, expandedUmPerPx: sum.expanded, budget };
}

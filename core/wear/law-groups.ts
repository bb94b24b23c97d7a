import type { WearPoint } from './law.ts';

/** Points that lie so close in hours that no law tells them apart: their means, how many, and how they scatter. */
export type Group = WearPoint & {
  readonly count: number;
  /** Sum of the squared deviations of the widths from their mean, um^2. */
  readonly scatter: number;
};

export const alone = (point: WearPoint): Group => ({ ...point, count: 1, scatter: 0 });

/** Fewer points are fitted one by one: a person's own pictures. */
const MANY_POINTS = 100;
/**
 * Steps in (t / T)^0.3, in which the width grows evenly: within one it changes by half a per cent of its last value at
 * most, a sixth of the uncertainty of a good picture. So a group costs what one point costs, and a history of thousands
 * of pictures no more than one of two hundred.
 */
const STEPS = 200;

/** `referenceHours`: those of the last point. */
export function together(points: readonly WearPoint[], referenceHours: number): Group[] {
  if (points.length <= MANY_POINTS) return points.map(alone);
  const near = new Map<string, WearPoint[]>();
  /** Uncertainties within a tenth of each other count as alike. */
  const size = (standard: number): number => Math.round(Math.log(standard + 1e-9) / Math.log(1.1));
  for (const point of points) {
    const step = Math.floor(STEPS * (point.hours / referenceHours) ** 0.3);
    const key = `${step} ${size(point.widthStandard)} ${size(point.hoursStandard)}`;
    const others = near.get(key);
    if (others === undefined) near.set(key, [point]);
    else others.push(point);
  }
  return [...near.values()].map((group) => {
    if (group.length === 1) return alone(group[0]);
    const mean = (of: (point: WearPoint) => number): number =>
      group.reduce((sum, point) => sum + of(point), 0) / group.length;
    const widthUm = mean((point) => point.widthUm);
    return {
      hours: mean((point) => point.hours),
      hoursStandard: Math.sqrt(mean((point) => point.hoursStandard ** 2)),
      widthUm,
      widthStandard: Math.sqrt(mean((point) => point.widthStandard ** 2)),
      count: group.length,
      scatter: group.reduce((sum, point) => sum + (point.widthUm - widthUm) ** 2, 0),
    };
  });
}

import type { WallCourse } from '../../shared/index.ts';

/** What lies this many times as far as everything played so far is left beyond the edge of a chart. */
const FAR = 2;
const ROOM = 1.1;

/**
 * How far a chart of wear against hours reaches: as far as was played, and on to those limits (own, common practice) that
 * come next. A limit far beyond the points would squeeze them into a corner. Hours, above 0.
 */
export function hoursShown(played: number, limits: readonly number[]): number {
  const ahead = limits.filter((hours) => hours > 0);
  // Nothing played yet: the first limit is all there is to show.
  const near = played > 0 ? FAR * played : Math.min(Infinity, ...ahead);
  return ROOM * Math.max(played, ...ahead.filter((hours) => hours <= near)) || 1;
}

/** Hours at which the laws reach the own limit: their best estimate, or the earliest where there is none. */
export const ownLimitHours = (walls: readonly Pick<WallCourse, 'limit'>[]): number[] =>
  walls.flatMap(({ limit }) => limit?.hours.value ?? limit?.hours.low ?? []);

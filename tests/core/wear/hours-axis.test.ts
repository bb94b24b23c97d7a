import { describe, expect, it } from 'vitest';
import { hoursShown, ownLimitHours } from '../../../core/wear/hours-axis.ts';

describe('how far the chart of wear reaches', () => {
  it.each([
    // A young stylus: both ends of common practice lie far beyond it.
    ['60 h played', 60, [400, 1000], 66],
    ['the lower end comes near', 210, [400, 1000], 440],
    ['both ends in reach', 505, [400, 1000], 1100],
    ['an own limit before them', 60, [90, 400, 1000], 99],
    ['past everything', 1500, [400, 1000], 1650],
    ['nothing played yet', 0, [400, 1000], 440],
    ['nothing known at all', 0, [], 1],
  ])('%s', (_name, played, limits, end) => {
    expect(hoursShown(played, limits)).toBeCloseTo(end, 9);
  });

  it('takes the best estimate of a limit, else the earliest hours', () => {
    const hours = { low: 300, value: 420, high: null };
    const limit = (part: Partial<typeof hours>) => ({ limit: { hours: { ...hours, ...part }, dates: null } });
    expect(ownLimitHours([limit({}), { limit: null }])).toEqual([420]);
    expect(ownLimitHours([{ limit: { hours: { low: 300, value: null, high: null }, dates: null } }])).toEqual(
      [300],
    );
  });
});

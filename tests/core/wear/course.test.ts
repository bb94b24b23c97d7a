import { describe, expect, it } from 'vitest';
import {
  type CourseInput,
  type FlatPoint,
  hoursLedger,
  nextLook,
  wearCourse,
  widthAt,
} from '../../../core/wear/index.ts';

const point = (hours: number, width: number, side: 'left' | 'right', date: string): FlatPoint => ({
  captureId: `c${hours}`,
  comparisonId: null,
  side,
  date,
  hours,
  hoursStandard: 0.05 * hours,
  width: { value: width, expanded: 0.8 },
  detected: true,
  limitUm: 4,
});
const DATES = ['2024-01-01', '2024-07-01', '2025-01-01', '2025-07-01', '2026-01-01'];

/** A stylus of the law w^3.4, 10 um at 600 h, looked at every 120 h; right 2 % narrower. */
function input(count: number, part: Partial<CourseInput> = {}): CourseInput {
  const points = Array.from({ length: count }, (_, i) => {
    const hours = 120 * i;
    const width = widthAt(hours, 600, 3.4, 0.5, 10);
    return [point(hours, width, 'left', DATES[i]), point(hours, 0.98 * width, 'right', DATES[i])];
  }).flat();
  const ledger = hoursLedger({
    startHours: 0,
    spans: [{ from: '2024-01-01', to: DATES[count - 1], hours: 120 * (count - 1), knowledge: 'counted' }],
    habits: [],
    until: '2026-01-10',
  });
  return {
    points,
    ledger,
    hoursKnown: true,
    habit: { hoursPerWeek: 5, from: 'last half year' },
    limitUm: 12,
    hoursBand: [400, 1000],
    today: '2026-01-10',
    lastLook: DATES[count - 1],
    retired: false,
    ...part,
  };
}

describe('wear of one stylus against its hours', () => {
  it('gives n, c, the band and the limit as hours and dates', () => {
    const course = wearCourse(input(5));
    const left = course.left!;
    expect(left.pointCount).toBe(5);
    expect(Math.abs(left.exponent.value - 3.4)).toBeLessThan(left.exponent.expanded);
    // The truth: 12 um are reached at 600 (12^n - w0^n) / (10^n - w0^n) hours.
    const truth = (600 * (12 ** 3.4 - 0.5 ** 3.4)) / (10 ** 3.4 - 0.5 ** 3.4);
    expect(left.limit!.hours.low!).toBeLessThan(truth);
    expect(left.limit!.hours.high!).toBeGreaterThan(truth);
    for (const sample of left.band) {
      const width = widthAt(sample.hours, 600, 3.4, 0.5, 10);
      expect(width).toBeGreaterThanOrEqual(sample.low - 1e-9);
      expect(width).toBeLessThanOrEqual(sample.high + 1e-9);
    }
    // 480 h played by then, at 5 h a week: the earliest date follows.
    const weeks = (left.limit!.hours.low! - 480) / 5;
    const days = (Date.parse(left.limit!.dates!.low!) - Date.parse('2026-01-10')) / 86_400_000;
    expect(days / 7).toBeCloseTo(weeks, 0);
    expect(left.band.at(-1)!.hours).toBeGreaterThan(1000);
    expect(course.sentences).toEqual([]);
    expect(course.uneven).toBe(false);
  });

  it('says in words how little two points say, and asks for two at least', () => {
    const two = wearCourse(input(2));
    expect(two.sentences.join(' ')).toMatch(/Two points say little/);
    const [early, late] = [two.left!.band, wearCourse(input(5)).left!.band].map((band) => {
      const end = band.at(-1)!;
      return (end.high - end.low) / end.value;
    });
    expect(early).toBeGreaterThan(1.3 * late);
    const one = wearCourse(input(1));
    expect(one.left).toBeNull();
    expect(one.sentences.join(' ')).toMatch(/two pictures/);
  });

  it('gives no dates without a habit or after retirement, and says when hours count from the daybook only', () => {
    expect(wearCourse(input(4, { habit: null })).left!.limit!.dates).toBeNull();
    expect(wearCourse(input(4, { habit: null })).sentences.join(' ')).toMatch(
      /Nothing was played in the last half year/,
    );
    expect(wearCourse(input(4, { retired: true })).left!.limit!.dates).toBeNull();
    expect(wearCourse(input(4, { limitUm: null })).left!.limit).toBeNull();
    const unknown = wearCourse(input(4, { hoursKnown: false }));
    expect(unknown.sentences.join(' ')).toMatch(/not known/);
    // Without belief in a new stylus' width the start is left to the points.
    expect(unknown.left!.startUm.expanded).toBeGreaterThan(0);
  });

  it('notices that left and right drift apart at the last look', () => {
    const even = input(4);
    const points = even.points.map((p) =>
      p.side === 'right' && p.hours === 360 ? { ...p, width: { value: 5.5, expanded: 0.8 } } : p,
    );
    const course = wearCourse({ ...even, points });
    expect(course.uneven).toBe(true);
    expect(course.look.why).toMatch(/apart/);
  });
});

describe('the next look', () => {
  const base = {
    today: '2026-01-10',
    lastLook: '2025-12-31',
    hoursNow: 100,
    hoursPerWeek: 5,
    hoursBand: [400, 1000] as const,
    limitHoursLow: null,
    uneven: false,
  };
  it('shows every rule with its date, and the earliest holds', () => {
    const look = nextLook(base);
    expect(look).toMatchObject({
      date: '2026-06-30',
      overdue: false,
      why: 'Six months after the last look.',
    });
    expect(look.rules.map((rule) => rule.date)).toEqual([null, null, '2026-06-30', '2026-12-31', null]);
    // 120 h at 5 h a week are 24 weeks: half of them from today.
    const near = nextLook({ ...base, limitHoursLow: 220 });
    expect(near.date).toBe('2026-04-04');
    expect(near.why).toMatch(/Half-way/);
    expect(nextLook({ ...base, hoursNow: 350 }).date).toBe('2026-03-31');
    expect(nextLook({ ...base, lastLook: null }).rules).toHaveLength(1);
  });
});

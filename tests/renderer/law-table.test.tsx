import { renderToStaticMarkup } from 'react-dom/server';
import { describe, expect, it } from 'vitest';
import { LawTable } from '../../renderer/stylus/law-table.tsx';
import type { WallCourse, WearCourse } from '../../shared/index.ts';

type Dates = NonNullable<WallCourse['limit']>['dates'];

function rows(dates: Dates): string {
  const wall: WallCourse = {
    pointCount: 4,
    exponent: { value: 3.5, expanded: 0.5 },
    rate: { value: 2, expanded: 1 },
    startUm: { value: 0.5, expanded: 0.3 },
    widened: 1,
    band: [{ hours: 0, value: 0.5, low: 0.2, high: 0.8 }],
    limit: { hours: { low: 700, value: 900, high: 1200 }, dates },
  };
  const course = {
    left: wall,
    right: wall,
    habit: { hoursPerWeek: 22 / 15, from: 'weekly habit' },
    sentences: [],
  } as unknown as WearCourse;
  return renderToStaticMarkup(<LawTable course={course} unit="um" limitUm={10} />).replaceAll('\u00a0', ' ');
}

describe('the wear law in numbers', () => {
  it('has a row for the weekly habit only where there are dates, which a retired stylus is not given', () => {
    expect(rows({ low: '2031-01-01', value: '2032-01-01', high: '2033-01-01' })).toContain(
      'At 1.5 h a week (your weekly habit)',
    );
    const retired = rows(null);
    expect(retired).toContain('Your limit is reached at');
    expect(retired).not.toContain('weekly habit');
    expect(retired).not.toContain('<td></td>');
  });
});

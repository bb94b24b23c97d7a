import { describe, expect, it } from 'vitest';
import { dayWords, forecastRange, forecastWords } from '../../shared/index.ts';

const plain = (text: string): string => text.replaceAll('\u00a0', ' ');

describe('days in words', () => {
  it('name the month, and leave the time of day out', () => {
    expect(plain(dayWords('2024-02-03'))).toBe('3 Feb 2024');
    expect(plain(dayWords('2024-12-31T23:59'))).toBe('31 Dec 2024');
  });

  it.each([
    ['2026-01-01', '1 Jan 2026'],
    ['2025-12-01', '1 Dec 2025'],
    ['2026-04-01', '1 Apr 2026'],
    ['2026-04-02', 'Apr 2026'],
    ['2028-12-31', 'Dec 2028'],
    ['2029-01-01', '2029'],
    ['2061-07-04', '2061'],
  ])('say a forecast of %s as %s', (date, words) => {
    expect(plain(forecastWords(date, '2026-01-01'))).toBe(words);
  });

  it('say both ends of a forecast, and one where they do not differ', () => {
    expect(plain(forecastRange('2026-02-01', '2041-05-05', '2026-01-01'))).toBe('1 Feb 2026 to 2041');
    expect(forecastRange('2041-02-01', '2041-11-05', '2026-01-01')).toBe('2041');
  });
});

import { describe, expect, it } from 'vitest';
import {
  areaUnit,
  formatDate,
  formatDated,
  formatFlat,
  formatHours,
  formatInterval,
  formatMeasured,
  formatPlain,
  grouped,
  lengthUnit,
  parseNumber,
  today,
} from '../../renderer/format.ts';

const UM = lengthUnit('um');
const plain = (text: string | null): string => (text ?? '').replaceAll('\u00a0', '~');

describe('values with uncertainty', () => {
  it('rounds both to the same place and keeps the unit on the line', () => {
    expect(plain(formatMeasured({ value: 9.4871, expanded: 0.5466 }, UM))).toBe('9.49~±~0.55~µm');
  });

  it('uses a minus sign, not a hyphen', () => {
    expect(plain(formatMeasured({ value: -2.94, expanded: 1.9 }, UM))).toBe('−2.9~±~1.9~µm');
  });

  it('puts an angle into brackets and leaves no space before the degree sign', () => {
    expect(plain(formatMeasured({ value: -2.94, expanded: 1.9 }, { factor: 1, symbol: '°' }))).toBe(
      '(−2.9~±~1.9)°',
    );
    expect(formatPlain(84, 0, '°')).toBe('84°');
  });

  it('converts to mil before rounding: 25.4 µm are 1 mil', () => {
    expect(plain(formatMeasured({ value: 25.4, expanded: 2.54 }, lengthUnit('mil')))).toBe('1.00~±~0.10~mil');
    expect(plain(formatMeasured({ value: 645.16, expanded: 64.516 }, areaUnit('mil')))).toBe(
      '1.00~±~0.10~mil²',
    );
  });

  it('counts in per cent of the shank where no scale is known, also for people who use mil', () => {
    const shown = lengthUnit('mil', 'percent-of-shank');
    expect(plain(formatMeasured({ value: 3.21, expanded: 0.4 }, shown))).toBe('3.21~±~0.40~% of shank');
  });

  it('never shows "0" for something that was not detected', () => {
    expect(plain(formatFlat({ value: 0, expanded: 3 }, false, 5.83, UM))).toBe('not detected, below 5.9~µm');
  });

  it('rounds a limit upwards, so that the sentence stays true', () => {
    expect(plain(formatFlat({ value: 2, expanded: 3 }, false, 5.11, UM))).toBe('not detected, below 5.2~µm');
  });

  it('tells the interval only where it is lopsided', () => {
    expect(formatInterval({ value: 6, expanded: 1, low: 5, high: 7 }, UM)).toBeNull();
    expect(plain(formatInterval({ value: 6, expanded: 1, low: 4.1, high: 6.6 }, UM))).toBe('4.1 to 6.6~µm');
    expect(formatInterval({ value: 6, expanded: 1 }, UM)).toBeNull();
  });
});

describe('typed numbers', () => {
  it.each([
    ['0.7', 0.7],
    ['0,7', 0.7],
    [' 12 ', 12],
    ['−3,5', -3.5],
    ['1\u202f500', 1500],
    ['.5', 0.5],
  ])('reads %j as %d', (text, value) => expect(parseNumber(text)).toBe(value));

  it.each(['', 'abc', '1,2,3', '1.2.3', '12 mm', '1e3', '-'])('refuses %j', (text) =>
    expect(parseNumber(text)).toBeNull(),
  );
});

describe('hours and dates', () => {
  it('says when the history is unknown and does not group with a comma', () => {
    expect(formatHours(null)).toBe('history unknown');
    expect(plain(formatHours(1500))).toBe('1\u202f500~h');
    expect(plain(formatHours(1.84))).toBe('1.8~h');
    expect(grouped(1234567)).toBe('1\u202f234\u202f567');
  });

  it('shows the wall date as it stands, whatever the time zone', () => {
    expect(plain(formatDate('2024-02-03'))).toBe('3~Feb~2024');
    expect(plain(formatDated({ wall: '2024-02-03T23:59:10', offset: '-11:00', source: 'exif' }))).toBe(
      '3~Feb~2024, 23:59',
    );
    expect(formatDated(null)).toBe('date unknown');
    expect(today(new Date(2024, 0, 9, 23, 30))).toBe('2024-01-09');
  });
});

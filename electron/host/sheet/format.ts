import { roundLimitUp, roundTogether } from '../../../core/uncertainty/rounding.ts';
import type { Dated, Measured } from '../../../shared/index.ts';

/** Numbers and dates as they are printed. U+00A0 keeps a number and its unit on one line. */
const SPACE = '\u00A0';

export type Unit = 'um' | 'percent-of-shank';
export const lengthUnit = (unit: Unit): string => (unit === 'um' ? 'µm' : '% of the shank');
export const areaUnit = (unit: Unit): string => (unit === 'um' ? 'µm²' : '% of the shank²');

export function measured({ value, expanded }: Measured, unit: string): string {
  const rounded = roundTogether(value, expanded);
  return rounded.expanded === ''
    ? `${rounded.value}${SPACE}${unit}`
    : `${rounded.value}${SPACE}±${SPACE}${rounded.expanded}${SPACE}${unit}`;
}

export const uncertainty = (expanded: number, unit: string): string =>
  `±${roundTogether(0, expanded).expanded}${SPACE}${unit}`;

export const plain = (value: number, digits: number, unit: string): string =>
  `${value.toFixed(digits).replace('-', '−')}${SPACE}${unit}`;

/** Never "0": what was not seen may still be there below the limit. */
export const notDetected = (limit: number, unit: string): string =>
  `not detected, below ${roundLimitUp(limit)}${SPACE}${unit}`;

export const hoursText = (hours: number | null): string =>
  hours === null ? 'unknown' : `${hours < 10 ? hours.toFixed(1) : hours.toFixed(0)}${SPACE}h`;

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** 19 Jun 2025: no two readers take the month for the day. */
export function dayText(wall: string): string {
  const [year, month, day] = wall.slice(0, 10).split('-').map(Number);
  return `${day}${SPACE}${MONTHS[month - 1]}${SPACE}${year}`;
}

const SOURCES: Readonly<Record<Dated['source'], string>> = {
  exif: 'from the camera',
  'file-name': 'from the file name',
  'file-time': 'from the file’s time',
  person: 'as entered',
  camera: 'taken live',
  invented: 'invented',
};

export const datedText = (dated: Dated | null): string =>
  dated === null ? 'date unknown' : `${dayText(dated.wall)} (${SOURCES[dated.source]})`;

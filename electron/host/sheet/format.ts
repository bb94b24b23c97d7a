import { roundLimitUp, roundTogether } from '../../../core/uncertainty/rounding.ts';
import { dayWords, grouped, inThousands, type Dated, type Measured } from '../../../shared/index.ts';

export { grouped };

/** Numbers and dates as they are printed. U+00A0 keeps a number and its unit on one line. */
const SPACE = '\u00A0';

/** A printed number: thousands apart as on screen, and the minus sign, not a hyphen. */
export const written = (figure: string): string => inThousands(figure).replace('-', '−');

export type Unit = 'um' | 'percent-of-shank';
export const lengthUnit = (unit: Unit): string => (unit === 'um' ? 'µm' : '% of the shank');
export const areaUnit = (unit: Unit): string => (unit === 'um' ? 'µm²' : '% of the shank²');

export function measured({ value, expanded }: Measured, unit: string): string {
  const rounded = roundTogether(value, expanded);
  const figure = written(rounded.value);
  if (rounded.expanded === '') return withUnit(figure, unit);
  const both = `${figure}${SPACE}±${SPACE}${written(rounded.expanded)}`;
  // As on screen: no space before the degree sign (SI brochure, 5.4.3), and brackets so that it belongs to both.
  return unit === '°' ? `(${both})°` : withUnit(both, unit);
}

const withUnit = (figure: string, unit: string): string =>
  unit === '°' ? `${figure}°` : `${figure}${SPACE}${unit}`;

export const uncertainty = (expanded: number, unit: string): string =>
  `±${written(roundTogether(0, expanded).expanded)}${SPACE}${unit}`;

export const plain = (value: number, digits: number, unit: string): string =>
  withUnit(written(value.toFixed(digits)), unit);

/** Never "0": what was not seen may still be there below the limit. */
export const notDetected = (limit: number, unit: string): string =>
  `not detected, below ${written(roundLimitUp(limit))}${SPACE}${unit}`;

export const hoursText = (hours: number | null): string =>
  hours === null ? 'unknown' : `${hours < 10 ? Number(hours.toFixed(1)) : grouped(hours)}${SPACE}h`;

export const dayText = dayWords;

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

import { roundLimitUp, roundTogether } from '../core/uncertainty/rounding.ts';
import { dayWords, grouped, inThousands, UM_PER_MIL, type Dated, type Measured } from '../shared/index.ts';

export { grouped };

/** Numbers and dates as the screen shows them. Stored data keep full precision; only text is rounded here. */
export type LengthUnit = 'um' | 'mil';
/** In which unit something counts: micrometres; per cent of the baseline's shank when no scale was given; bare pixels. */
export type ReportUnit = 'um' | 'percent-of-shank' | 'px';

/** No-break space: a number never parts from its unit at the end of a line. */
export const NBSP = '\u00a0';
const MINUS = '\u2212';

/** A figure as it is shown: thousands apart, and the minus sign, not a hyphen. */
const written = (text: string): string => inThousands(text).replace(/^-/, MINUS);

export type Shown = { readonly factor: number; readonly symbol: string };

export function lengthUnit(unit: LengthUnit, counted: ReportUnit = 'um'): Shown {
  if (counted === 'percent-of-shank') return { factor: 1, symbol: '% of shank' };
  if (counted === 'px') return { factor: 1, symbol: 'px' };
  return unit === 'mil' ? { factor: 1 / UM_PER_MIL, symbol: 'mil' } : { factor: 1, symbol: 'µm' };
}

export function areaUnit(unit: LengthUnit, counted: ReportUnit = 'um'): Shown {
  if (counted === 'percent-of-shank') return { factor: 1, symbol: '% of shank, squared' };
  if (counted === 'px') return { factor: 1, symbol: 'px²' };
  return unit === 'mil'
    ? { factor: 1 / (UM_PER_MIL * UM_PER_MIL), symbol: 'mil²' }
    : { factor: 1, symbol: 'µm²' };
}

/** The no-break space stands before every unit but the degree sign of a plane angle (SI brochure, 5.4.3). */
function withUnit(text: string, symbol: string): string {
  if (symbol === '') return text;
  return symbol === '°' ? text + symbol : text + NBSP + symbol;
}

/** "8.4 ± 0.6 µm"; the interval in words where it is lopsided. */
export function formatMeasured(measured: Measured, shown: Shown): string {
  const { value, expanded } = roundTogether(measured.value * shown.factor, measured.expanded * shown.factor);
  if (expanded === '') return withUnit(written(value), shown.symbol);
  const both = `${written(value)}${NBSP}±${NBSP}${written(expanded)}`;
  // (−2.9 ± 1.9)°: without the brackets the sign would belong to the uncertainty alone.
  return shown.symbol === '°' ? `(${both})°` : withUnit(both, shown.symbol);
}

/** The interval's ends where it is not symmetric, rounded to the uncertainty's place; null where ± says it all. */
export function formatInterval(measured: Measured, shown: Shown): string | null {
  if (measured.low === undefined || measured.high === undefined) return null;
  const below = measured.value - measured.low;
  const above = measured.high - measured.value;
  if (Math.abs(below - above) <= 0.1 * Math.max(below, above)) return null;
  const { decimals } = roundTogether(measured.value * shown.factor, measured.expanded * shown.factor);
  const digits = Math.max(0, decimals);
  const end = (x: number): string => written((x * shown.factor).toFixed(digits));
  return `${end(measured.low)} to ${end(measured.high)}${NBSP}${shown.symbol}`;
}

/** "not detected, below 6 µm": never "0". */
export function formatNotDetected(limit: number, shown: Shown): string {
  return `not detected, below ${written(roundLimitUp(limit * shown.factor))}${NBSP}${shown.symbol}`;
}

export function formatFlat(flat: Measured, detected: boolean, limit: number, shown: Shown): string {
  return detected ? formatMeasured(flat, shown) : formatNotDetected(limit, shown);
}

/** A number that has no uncertainty of its own beside it. */
export function formatPlain(value: number, digits: number, symbol: string): string {
  const fixed = value.toFixed(digits);
  const text = /^-0(\.0*)?$/.test(fixed) ? fixed.slice(1) : fixed;
  return withUnit(written(text), symbol);
}

/** A length someone typed or a tool works with: three significant digits are plenty, trailing zeros are noise. */
export function formatLength(um: number, unit: LengthUnit): string {
  const { factor, symbol } = lengthUnit(unit);
  return `${written(String(Number((um * factor).toPrecision(3))))}${NBSP}${symbol}`;
}

export function formatHours(hours: number | null): string {
  if (hours === null) return 'history unknown';
  return `${hours < 10 ? String(Number(hours.toFixed(1))) : grouped(hours)}${NBSP}h`;
}

/** Accepts 0.7, 0,7, " 12 " and a real minus sign; null for anything that is not one number. */
export function parseNumber(text: string): number | null {
  const plain = text
    .trim()
    .replace(MINUS, '-')
    .replace(/[\s\u00a0\u202f]/g, '');
  if (!/^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/.test(plain)) return null;
  return Number(plain.replace(',', '.'));
}

/** What a field shows of a stored number: plain digits, no grouping, so that it can be typed over. */
export function editable(value: number | null, factor = 1): string {
  return value === null ? '' : String(Number((value * factor).toPrecision(6)));
}

export const formatDate = dayWords;

export function formatDated(dated: Dated | null): string {
  if (dated === null) return 'date unknown';
  const time = dated.wall.slice(11, 16);
  return formatDate(dated.wall) + (time === '' ? '' : `, ${time}`);
}

export const DATE_SOURCE: Readonly<Record<Dated['source'], string>> = {
  exif: 'from the picture',
  'file-name': 'from the file name',
  'file-time': 'from the file’s time, which copying may change',
  person: 'typed in',
  camera: 'when it was taken live',
  invented: 'invented for the demo',
};

/** The wall date of this machine's today; used only as the start value of a field that a person confirms. */
export function today(now: Date = new Date()): string {
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

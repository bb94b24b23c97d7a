import type { PlayMapping } from '../../../shared/index.ts';

/** Dates and amounts as people and table programs write them; a sentence where they cannot be read. */
export type Read<T> =
  { readonly value: T; readonly wrong: null } | { readonly value: null; readonly wrong: string };
const good = <T>(value: T): Read<T> => ({ value, wrong: null });
const bad = (wrong: string): Read<never> => ({ value: null, wrong });

const two = (n: number): string => String(n).padStart(2, '0');

function dateFrom(year: number, month: number, day: number, text: string): Read<string> {
  const made = new Date(Date.UTC(year, month - 1, day));
  if (made.getUTCMonth() !== month - 1 || made.getUTCDate() !== day)
    return bad(`“${text}” is no day of the calendar in the chosen order.`);
  if (year < 1940) return bad(`“${text}” lies before records were played like this.`);
  return good(`${year}-${two(month)}-${two(day)}`);
}

const PARTS = /^(\d{1,4})[./ -](\d{1,2})[./ -](\d{1,4})(?:[T ,].*)?$/;

/** A year in front settles the order; otherwise the chosen one holds. A time of day is left out. */
export function readDate(text: string, order: PlayMapping['dateOrder']): Read<string> {
  if (text === '') return bad('There is no date.');
  const parts = PARTS.exec(text);
  if (parts === null) return bad(`“${text.slice(0, 40)}” is no date such as 2024-03-31 or 31.3.2024.`);
  const [a, b, c] = parts.slice(1, 4).map(Number);
  if (parts[1].length === 4) return dateFrom(a, b, c, text);
  if (parts[3].length !== 4) return bad(`“${text}” has no year of four digits.`);
  return order === 'month-day-year' ? dateFrom(c, a, b, text) : dateFrom(c, b, a, text);
}

/** Which orders of day and month all these dates allow. */
export function possibleOrders(dates: readonly string[]): PlayMapping['dateOrder'][] {
  const orders = ['year-month-day', 'day-month-year', 'month-day-year'] as const;
  const yearFirst = dates.every((text) => /^\d{4}/.test(text));
  if (yearFirst) return ['year-month-day'];
  return orders.slice(1).filter((order) => dates.every((text) => readDate(text, order).wrong === null));
}

/** 1234.5, 1.234,5, 1 234,5: of two signs the last is the decimal one; a lone sign is decimal. */
export function readAmount(text: string): Read<number> {
  const plain = text.replaceAll(/[\s\u00a0\u202f']/g, '');
  if (plain === '') return bad('There is no amount.');
  const last = Math.max(plain.lastIndexOf(','), plain.lastIndexOf('.'));
  const whole = last === -1 ? plain : plain.slice(0, last);
  const rest = last === -1 ? '' : plain.slice(last + 1);
  const grouped = whole.replaceAll(/[.,](?=\d{3}(\D|$))/g, '');
  if (!/^\d*$/.test(grouped) || !/^\d*$/.test(rest) || grouped + rest === '')
    return bad(`“${text.slice(0, 40)}” is no amount.`);
  const value = Number(`${grouped || '0'}.${rest || '0'}`);
  return value > 0 ? good(value) : bad('The amount is 0.');
}

const CLOCK = /^(?:(\d{1,3}):)?(\d{1,3}):(\d{2})$/;

/** Hours of a row. mm:ss and h:mm:ss count as what they say, whatever the unit. */
export function readHours(
  text: string | null,
  mapping: PlayMapping,
): Read<{ amount: number; hours: number }> {
  const { unit, minutesPerSide } = mapping;
  const clock = text === null ? null : CLOCK.exec(text);
  if (clock !== null) {
    const minutes = Number(clock[1] ?? 0) * 60 + Number(clock[2]) + Number(clock[3]) / 60;
    return minutes > 0 ? good({ amount: minutes, hours: minutes / 60 }) : bad('The amount is 0.');
  }
  const amount = text === null ? good(1) : readAmount(text);
  if (amount.wrong !== null) return amount;
  const minutes = {
    minutes: 1,
    hours: 60,
    seconds: 1 / 60,
    sides: minutesPerSide,
    records: 2 * minutesPerSide,
  }[unit];
  const hours = (amount.value * minutes) / 60;
  if (hours > 24 * 31)
    return bad(`“${text ?? ''}” would be ${Math.round(hours)} hours for one row: is the unit right?`);
  return good({ amount: unit === 'seconds' ? amount.value / 60 : amount.value, hours });
}

/** Whether a cell is written as a time on a clock. */
export const isClock = (text: string): boolean => CLOCK.test(text);

import { z } from 'zod';

/**
 * Days that a calendar has, YYYY-MM-DD, from the first records to far enough ahead. A date like 2024-13-45 has the right
 * shape and breaks every sum that meets it, so it is kept out at the border.
 */
const DAY = /^(18[5-9]\d|19\d{2}|2[01]\d{2})-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/;
const WALL =
  /^(18[5-9]\d|19\d{2}|2[01]\d{2})-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])(T([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?)?$/;

const DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] as const;

/** True for a day that exists: no 30 February, and 29 February in leap years only. */
export function isDay(text: string): boolean {
  if (!DAY.test(text)) return false;
  // By arithmetic: ten years of entries ask tens of thousands of times.
  const [year, month, day] = [text.slice(0, 4), text.slice(5, 7), text.slice(8, 10)].map(Number);
  const leap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
  return day <= (month === 2 && leap ? 29 : DAYS[month - 1]);
}

export const daySchema = z.string().regex(DAY).refine(isDay);
/** YYYY-MM-DD, or YYYY-MM-DDTHH:MM[:SS]. */
export const wallSchema = z
  .string()
  .regex(WALL)
  .refine((wall) => isDay(wall.slice(0, 10)));

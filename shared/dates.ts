import { z } from 'zod';

/**
 * Days that a calendar has, YYYY-MM-DD, from the first records to far enough ahead. A date like 2024-13-45 has the right
 * shape and breaks every sum that meets it, so it is kept out at the border.
 */
const DAY = /^(18[5-9]\d|19\d{2}|2[01]\d{2})-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/;
const WALL =
  /^(18[5-9]\d|19\d{2}|2[01]\d{2})-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])(T([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?)?$/;

/** True for a day that exists: no 30 February, and 29 February in leap years only. */
export function isDay(text: string): boolean {
  if (!DAY.test(text)) return false;
  const time = Date.parse(`${text}T00:00:00Z`);
  // Date.parse turns 30 February into 1 March.
  return !Number.isNaN(time) && new Date(time).toISOString().startsWith(text);
}

export const daySchema = z.string().regex(DAY).refine(isDay);
/** YYYY-MM-DD, or YYYY-MM-DDTHH:MM[:SS]. */
export const wallSchema = z
  .string()
  .regex(WALL)
  .refine((wall) => isDay(wall.slice(0, 10)));

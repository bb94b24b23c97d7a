/** Calendar dates as YYYY-MM-DD; no clock, no time zone. */
const DAY = 86_400_000;

const parse = (date: string): number => {
  const time = Date.parse(`${date}T00:00:00Z`);
  if (!/^\d{4}-\d{2}-\d{2}$/.test(date) || Number.isNaN(time))
    throw new RangeError(`a date YYYY-MM-DD was expected, got "${date}"`);
  return time;
};

const format = (time: number): string => new Date(time).toISOString().slice(0, 10);

export function addDays(date: string, days: number): string {
  return format(parse(date) + Math.round(days) * DAY);
}

/** Same day some months on; the last of the month where that day does not exist. */
export function addMonths(date: string, months: number): string {
  const from = new Date(parse(date));
  const year = from.getUTCFullYear();
  const month = from.getUTCMonth() + months;
  const last = new Date(Date.UTC(year, month + 1, 0)).getUTCDate();
  return format(Date.UTC(year, month, Math.min(from.getUTCDate(), last)));
}

export function daysBetween(from: string, to: string): number {
  return Math.round((parse(to) - parse(from)) / DAY);
}

export const earlier = (a: string, b: string): string => (parse(a) <= parse(b) ? a : b);

/** Farther than this a forecast is no date any more. */
const FOREVER_DAYS = 365 * 50;

/** Date at which a number of hours is reached at the present habit; null when it never is, or in more than 50 years. */
export function dateAtHours(
  today: string,
  hoursNow: number,
  hoursThen: number,
  hoursPerWeek: number,
): string | null {
  if (hoursThen <= hoursNow) return today;
  const days = ((hoursThen - hoursNow) / hoursPerWeek) * 7;
  return hoursPerWeek > 0 && days <= FOREVER_DAYS ? addDays(today, days) : null;
}

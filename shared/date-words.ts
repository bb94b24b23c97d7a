/** Days in words, alike in the window, on paper and in files; no time zone, as they stand. */
const NBSP = '\u00a0';
const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** "3 Feb 2024" of a date YYYY-MM-DD, or of a wall time that begins with one: no reader takes the month for the day. */
export function dayWords(wall: string): string {
  const [year, month, day] = wall.slice(0, 10).split('-').map(Number);
  return `${day}${NBSP}${MONTHS[month - 1]}${NBSP}${year}`;
}

const DAY_MS = 86_400_000;
/** Days ahead up to which a forecast is said to the day, and up to which to the month; beyond that to the year. */
const BY_DAY = 90;
const BY_MONTH = 3 * 365;

/** A forecast date as finely as anybody can mean it: "3 Feb 2024", "Jun 2026", "2041". Dates are YYYY-MM-DD. */
export function forecastWords(date: string, today: string): string {
  const ahead = (Date.parse(`${date}T00:00:00Z`) - Date.parse(`${today}T00:00:00Z`)) / DAY_MS;
  if (ahead <= BY_DAY) return dayWords(date);
  const [year, month] = date.split('-').map(Number);
  return ahead <= BY_MONTH ? `${MONTHS[month - 1]}${NBSP}${year}` : String(year);
}

/** From when to when a forecast lies: "Jun 2026 to 2041"; both ends in one word where they are the same one. */
export function forecastRange(low: string, high: string, today: string): string {
  const [from, to] = [low, high].map((date) => forecastWords(date, today));
  return from === to ? from : `${from} to ${to}`;
}

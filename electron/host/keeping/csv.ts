/**
 * Comma-separated values after RFC 4180. A text that begins with a character which spreadsheets take for the start of a
 * formula gets an apostrophe in front (OWASP ASVS 5.0, requirement 1.2.10); numbers are numbers and stay as they are.
 */
const FORMULA = /^[=+\-@\t\0\r\n＝＋－＠]/;

export type Cell = string | number | boolean | null;

function cellText(value: Cell): string {
  if (value === null) return '';
  if (typeof value !== 'string') return String(value);
  const guarded = FORMULA.test(value.trimStart()) || FORMULA.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(guarded) ? `"${guarded.replaceAll('"', '""')}"` : guarded;
}

/** With a byte-order mark, without which some spreadsheets read µ as two letters. */
export const csvText = (rows: readonly (readonly Cell[])[]): string =>
  `\uFEFF${rows.map((row) => row.map(cellText).join(',')).join('\r\n')}\r\n`;

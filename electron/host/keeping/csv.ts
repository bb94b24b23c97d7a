import Papa from 'papaparse';

/**
 * Comma-separated values after RFC 4180. A text that begins with a character which spreadsheets take for the start of a
 * formula gets an apostrophe in front (OWASP ASVS 5.0, requirement 1.2.10), also behind white space and in the wide
 * forms of those characters; numbers are numbers and stay as they are.
 */
const FORMULA = /^\s*[=+\-@\t\0\r＝＋－＠]|^[\t\r\n]/;

export type Cell = string | number | boolean | null;

/** With a byte-order mark, without which some spreadsheets read µ as two letters. */
export const csvText = (rows: readonly (readonly Cell[])[]): string =>
  `\uFEFF${Papa.unparse(rows as Cell[][], { newline: '\r\n', escapeFormulae: FORMULA })}\r\n`;

import Papa from 'papaparse';
import { Refusal } from '../../../shared/index.ts';

/** A table of text from the bytes of a CSV file, whatever its delimiter, quotes and encoding. */
export type CsvTable = {
  readonly delimiter: string;
  readonly encoding: string;
  readonly rows: readonly (readonly string[])[];
  /** Sentence about a row that is broken, by its index. */
  readonly broken: ReadonlyMap<number, string>;
};

export const MAX_PLAY_LIST_BYTES = 20 * 1024 * 1024;
export const MAX_PLAY_ROWS = 50_000;
const MOST_COLUMNS = 500;

/** By its mark, else UTF-8 if it is that, else the code page of older table programs. */
function decode(bytes: Uint8Array): { text: string; encoding: string } {
  const mark = (...values: number[]): boolean => values.every((value, i) => bytes[i] === value);
  if (mark(0xff, 0xfe)) return { text: new TextDecoder('utf-16le').decode(bytes), encoding: 'UTF-16' };
  if (mark(0xfe, 0xff)) return { text: new TextDecoder('utf-16be').decode(bytes), encoding: 'UTF-16' };
  try {
    return { text: new TextDecoder('utf-8', { fatal: true }).decode(bytes), encoding: 'UTF-8' };
  } catch {
    return { text: new TextDecoder('windows-1252').decode(bytes), encoding: 'Windows-1252' };
  }
}

const BROKEN: Readonly<Record<string, string>> = {
  MissingQuotes: 'A quotation mark is opened and never closed. Correct it in the file.',
  InvalidQuotes: 'A quotation mark stands in the middle of a value. Double it in the file.',
};

export function readCsv(bytes: Uint8Array): CsvTable {
  if (bytes.byteLength > MAX_PLAY_LIST_BYTES)
    throw new Refusal(
      'too-large',
      `The file is larger than ${MAX_PLAY_LIST_BYTES / 2 ** 20} MB. Split it and bring in the parts.`,
    );
  const { text, encoding } = decode(bytes);
  if (text.includes('\0'))
    throw new Refusal(
      'not-a-play-list',
      'This is no table of text. Save the list as CSV (values parted by commas, semicolons or tabs) and try again.',
    );
  const { data, errors, meta } = Papa.parse<string[]>(text, {
    skipEmptyLines: 'greedy',
    delimitersToGuess: [',', ';', '\t', '|'],
  });
  if (data.length === 0) throw new Refusal('not-a-play-list', 'The file is empty.');
  if (data.length > MAX_PLAY_ROWS + 1)
    throw new Refusal(
      'too-large',
      `The list has more than ${MAX_PLAY_ROWS} rows. Split it and bring in the parts.`,
    );
  const broken = new Map<number, string>();
  for (const { row, code } of errors) if (row !== undefined && code in BROKEN) broken.set(row, BROKEN[code]);
  const rows = data.map((cells) => cells.slice(0, MOST_COLUMNS).map((cell) => cell.trim()));
  return { delimiter: meta.delimiter, encoding, rows, broken };
}

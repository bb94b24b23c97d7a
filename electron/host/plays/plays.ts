import { createHash } from 'node:crypto';
import { beforeUse, Cancelled, dayWords, Refusal } from '../../../shared/index.ts';
import type { EntryDraft, PlayList, PlayMapping, PlayRow, Stylus } from '../../../shared/index.ts';
import type { JobOptions } from '../engine.ts';
import type { Database } from '../store/database.ts';
import { insertRows, newId } from '../store/changes.ts';
import { todayHere } from '../store/hours.ts';
import { ENTRY_COLUMNS, entryValues } from '../store/rows.ts';
import { listOfStyluses, readStylus } from '../store/styluses.ts';
import { readDate, readHours } from './cells.ts';
import { guessMapping } from './guess.ts';
import { readCsv, type CsvTable } from './read-csv.ts';

/** From a play list to entries: read, show, bring in, and know every row again. */
export type PlayQuestion = {
  readonly bytes: Uint8Array;
  readonly stylusId: string;
  /** null: guess. */
  readonly mapping: PlayMapping | null;
  readonly minutesPerSide: number;
};

type Ready = PlayRow & {
  readonly stylusId: string | null;
  readonly amount: number;
  readonly hashes: readonly string[];
};

const SHOWN = 40;
const REFUSED_SHOWN = 500;
const SAMPLES = 3;

export async function readPlays(db: Database, question: PlayQuestion): Promise<PlayList> {
  const { table, mapping, doubts, rows } = await judged(db, question);
  const fresh = rows.filter((row) => row.state === 'new');
  const dates = fresh.flatMap(({ date }) => date ?? []).toSorted((a, b) => a.localeCompare(b));
  const first = table.rows[0] ?? [];
  const count = (state: PlayRow['state']): number => rows.filter((row) => row.state === state).length;
  return {
    delimiter: table.delimiter,
    encoding: table.encoding,
    columns: first.map((name, i) => ({
      name: (mapping.header ? name : '') || `Column ${i + 1}`,
      samples: table.rows
        .slice(mapping.header ? 1 : 0)
        .flatMap((row) => row[i] || [])
        .slice(0, SAMPLES),
    })),
    mapping,
    doubts,
    counts: { new: fresh.length, known: count('known'), refused: count('refused') },
    hours: fresh.reduce((sum, { hours }) => sum + (hours ?? 0), 0),
    firstDate: dates[0] ?? null,
    lastDate: dates.at(-1) ?? null,
    preview: rows.slice(0, SHOWN).map(shown),
    refused: rows
      .filter((row) => row.state === 'refused')
      .slice(0, REFUSED_SHOWN)
      .map(shown),
  };
}

/**
 * Brings in every new row, all of them or none. Returns how many, and whose pages change. Rejects with `Cancelled` when
 * somebody stops it; the writing itself, some tenths of a second for 20,000 rows, is one step that nothing interrupts.
 */
export async function importPlays(
  db: Database,
  question: PlayQuestion,
  { signal, onProgress }: Pick<JobOptions, 'signal' | 'onProgress'> = {},
): Promise<{
  readonly added: number;
  readonly known: number;
  readonly refused: number;
  readonly stylusIds: string[];
}> {
  const stamp = db.watch.clock();
  const { mapping, rows } = await judged(db, question, (done, all) => {
    if (signal?.aborted) throw new Cancelled('cancelled');
    onProgress?.(`Row ${done} of ${all}`, (0.9 * done) / all);
  });
  if (signal?.aborted) throw new Cancelled('cancelled');
  // While the rows were read in pieces, another list may have come in.
  const known = db.watch.clock() === stamp ? () => false : isKnown(db);
  const fresh = rows.filter((row) => row.state === 'new' && !row.hashes.some(known));
  if (fresh.length === 0)
    throw new Refusal('nothing-new', 'No row of this list is new. Nothing was changed.');
  db.transaction(() => {
    const made = fresh.map((row) => ({ id: newId(), values: entryValues(draftOf(row, mapping)) }));
    insertRows(db, 'entry', ENTRY_COLUMNS, made);
    for (const [i, { hashes }] of fresh.entries())
      for (const hash of hashes)
        db.run('INSERT INTO play_row (hash, entry_id) VALUES (?, ?)', hash, made[i].id);
  });
  return {
    added: fresh.length,
    known: rows.filter((row) => row.state !== 'refused').length - fresh.length,
    refused: rows.filter((row) => row.state === 'refused').length,
    stylusIds: [...new Set(fresh.flatMap(({ stylusId }) => stylusId ?? []))],
  };
}

function draftOf(row: Ready, { unit, minutesPerSide }: PlayMapping): EntryDraft {
  return {
    stylusId: row.stylusId!,
    kind: 'playing',
    date: row.date!,
    played: {
      amount: row.amount,
      unit: unit === 'seconds' ? 'minutes' : unit,
      minutesPerSide,
      hours: row.hours!,
      estimated: false,
    },
    text: row.title,
  };
}

const shown = ({ stylusId: _id, amount: _amount, hashes: _hashes, ...row }: Ready): PlayRow => row;

/** What was taken back or put away, with its stylus or alone, is not in the daybook: it may come in again. */
const KNOWN = `SELECT 1 FROM play_row JOIN entry ON entry.id = entry_id JOIN stylus ON stylus.id = stylus_id
  WHERE hash = ? AND entry.binned_at IS NULL AND stylus.binned_at IS NULL LIMIT 1`;

/** Rows that are judged at a stretch; between two of them the host answers whoever else asks. */
const AT_ONCE = 1000;
const breathe = (): Promise<void> =>
  new Promise((resolve) => {
    setImmediate(resolve);
  });

const isKnown =
  (db: Database) =>
  (hash: string): boolean =>
    db.get(KNOWN, hash) !== undefined;

async function judged(
  db: Database,
  question: PlayQuestion,
  onStep: (done: number, all: number) => void = () => undefined,
): Promise<{ table: CsvTable; mapping: PlayMapping; doubts: string[]; rows: Ready[] }> {
  const table = readCsv(question.bytes);
  const guess = guessMapping(table.rows, question.minutesPerSide);
  const mapping = question.mapping ?? guess.mapping;
  const chosen = readStylus(db, question.stylusId);
  const shelf = mapping.deck === null ? [] : listOfStyluses(db);
  const today = todayHere();
  const known = isKnown(db);
  const seen = new Map<string, number>();
  const from = mapping.header ? 1 : 0;
  const judge = (cells: readonly string[], i: number): Ready => {
    const title = (mapping.title === null ? '' : (cells[mapping.title] ?? '')).slice(0, 2000);
    const date = readDate(cells[mapping.date] ?? '', mapping.dateOrder);
    const played = readHours(mapping.amount === null ? null : (cells[mapping.amount] ?? ''), mapping);
    const stylus = mapping.deck === null ? chosen : stylusNamed(shelf, cells[mapping.deck] ?? '', date.value);
    const wrong =
      table.broken.get(i + from) ??
      date.wrong ??
      played.wrong ??
      (date.value !== null && date.value > today ? 'The date lies in the future.' : null) ??
      (typeof stylus === 'string' ? stylus : beforeItsUse(stylus, date.value));
    const hashes = hashesOf(cells, [date.value ?? '', title, played.value?.hours.toFixed(6) ?? ''], seen);
    const again = wrong === null && hashes.some(known);
    return {
      row: i + from + 1,
      state: wrong !== null ? 'refused' : again ? 'known' : 'new',
      date: date.value,
      title,
      hours: played.value?.hours ?? null,
      amount: played.value?.amount ?? 0,
      stylusName: typeof stylus === 'string' ? null : stylus.name,
      stylusId: typeof stylus === 'string' ? null : stylus.id,
      reason: wrong ?? (again ? 'Already in the daybook.' : null),
      hashes,
    };
  };
  const rows: Ready[] = [];
  const all = table.rows.length - from;
  while (rows.length < all) {
    onStep(rows.length, all);
    await breathe();
    const until = Math.min(all, rows.length + AT_ONCE);
    while (rows.length < until) rows.push(judge(table.rows[rows.length + from], rows.length));
  }
  return { table, mapping, doubts: question.mapping === null ? guess.doubts : [], rows };
}

/**
 * A row is known again by its cells, and also by its date, title and length, so that a list with a column more or
 * another order of columns brings nothing in twice. The same record played twice on a day is two rows: the second of
 * two like rows has a number of its own.
 */
function hashesOf(cells: readonly string[], meaning: readonly string[], seen: Map<string, number>): string[] {
  return [
    ['cells', ...cells],
    ['play', ...meaning],
  ].map((parts) => {
    const text = JSON.stringify(parts);
    const times = (seen.get(text) ?? 0) + 1;
    seen.set(text, times);
    return createHash('sha256').update(`${times}\n${text}`).digest('hex');
  });
}

const plain = (text: string): string => text.trim().toLocaleLowerCase();

function beforeItsUse({ name, startDate }: Stylus, date: string | null): string | null {
  if (startDate === null || beforeUse(date ?? '', startDate) === null) return null;
  return `“${name.slice(0, 60)}” has been in use only since ${dayWords(startDate)}. Correct the row, or that day at the stylus.`;
}

/** The stylus of that name, or the one that was on that deck on the day; else a sentence. */
function stylusNamed(all: readonly Stylus[], name: string, date: string | null): Stylus | string {
  if (name === '') return 'The row does not say on which deck it was played.';
  const byName = all.filter((stylus) => plain(stylus.name) === plain(name));
  const onDeck = all.filter(
    (stylus) =>
      plain(stylus.deck) === plain(name) &&
      (date === null || stylus.startDate === null || stylus.startDate <= date) &&
      (date === null || stylus.retired === null || stylus.retired.date >= date),
  );
  const found = byName.length > 0 ? byName : onDeck;
  if (found.length === 1) return found[0];
  return found.length === 0
    ? `No stylus or deck on the shelf is called “${name.slice(0, 60)}” on that day. Give a stylus that deck, or bring the rows in for one stylus.`
    : `More than one stylus was on “${name.slice(0, 60)}” on that day. Set their dates, or bring the rows in for one stylus.`;
}

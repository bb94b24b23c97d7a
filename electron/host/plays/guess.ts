import type { PlayMapping } from '../../../shared/index.ts';
import { isClock, possibleOrders, readAmount, readDate } from './cells.ts';

/** A first reading of the columns, from their names and from what stands in them. The person has the last word. */
const NAMES = {
  date: /^(date|day|datum|tag|fecha|data|played( on| at)?|listened|when|timestamp|time)\b/i,
  title: /(title|album|record|release|titel|name|disc|platte|disque)/i,
  deck: /(deck|turntable|player|stylus|cartridge|plattenspieler|nadel)/i,
  minutes: /(min|duration|length|dauer|playing time)/i,
  hours: /(hours?|stunden)/i,
  seconds: /(sec|sekunden)/i,
  sides: /(sides?|seiten)/i,
  records: /^(records|discs|count|plays|platten)$/i,
} as const;

const LOOKED_AT = 60;

export function guessMapping(
  rows: readonly (readonly string[])[],
  minutesPerSide: number,
): { readonly mapping: PlayMapping; readonly doubts: string[] } {
  const [first = []] = rows;
  const header = !first.some((cell) => looksLikeDate(cell)) && rows.length > 1;
  const sample = rows.slice(header ? 1 : 0, LOOKED_AT);
  const names = header ? first : first.map(() => '');
  const column = (i: number): string[] => sample.map((row) => row[i] ?? '').filter((cell) => cell !== '');
  const indices = first.map((_, i) => i);
  const share = (i: number, fits: (cell: string) => boolean): number => {
    const cells = column(i);
    return cells.length === 0 ? 0 : cells.filter(fits).length / cells.length;
  };
  const dated = indices.filter((i) => share(i, looksLikeDate) > 0.5);
  const date = dated.find((i) => NAMES.date.test(names[i])) ?? dated[0] ?? 0;
  const free = indices.filter((i) => i !== date);
  const countable = (i: number): boolean =>
    share(i, (cell) => isClock(cell) || readAmount(cell).wrong === null) > 0.5;
  const named = (['minutes', 'hours', 'seconds', 'sides', 'records'] as const).flatMap((unit) =>
    free.filter((i) => NAMES[unit].test(names[i]) && countable(i)).map((i) => ({ i, unit })),
  );
  const amount = named[0] ?? null;
  const others = free.filter((i) => i !== amount?.i);
  const title =
    others.find((i) => NAMES.title.test(names[i])) ??
    others.find((i) => !countable(i) && column(i).length > 0);
  const deck = others.find((i) => i !== title && NAMES.deck.test(names[i]));
  const orders = possibleOrders(column(date));
  const doubts: string[] = [];
  if (dated.length === 0) doubts.push('No column looks like dates. Choose the one that holds them.');
  else if (orders.length > 1)
    doubts.push(
      'Day and month could be either way round in this file. Check the order against a date you remember.',
    );
  if (amount === null)
    doubts.push(
      'No column says how long or how many sides; each row then counts as one record. Choose a column if there is one.',
    );
  return {
    mapping: {
      header,
      date,
      dateOrder: orders[0] ?? 'day-month-year',
      title: title ?? null,
      amount: amount?.i ?? null,
      unit: amount?.unit ?? 'records',
      deck: deck ?? null,
      minutesPerSide,
    },
    doubts,
  };
}

const looksLikeDate = (cell: string): boolean =>
  readDate(cell, 'day-month-year').wrong === null || readDate(cell, 'month-day-year').wrong === null;

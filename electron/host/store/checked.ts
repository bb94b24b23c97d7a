import type { z } from 'zod';

/**
 * Rows that passed their schema when they were read: a stylus of ten years has thirty thousand of them, and checking
 * each again on its way out took as long as reading it, and as much memory. Nobody changes a row that was read; whoever
 * makes another one of it has that one checked in its turn.
 */
const checked = new WeakSet<object>();

export function asChecked<T extends object>(row: T): T {
  checked.add(row);
  return row;
}

export const isChecked = (row: unknown): boolean => checked.has(row as object);

/** The value as its schema lets it through; lists that hold nothing but rows checked before are handed on as they are. */
export function checkedOnce<T>(schema: z.ZodType<T>, value: unknown): T {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return schema.parse(value);
  const known = Object.entries(value).filter(
    ([, list]) => Array.isArray(list) && list.length > 0 && list.every(isChecked),
  );
  const emptied = Object.fromEntries(known.map(([name]) => [name, []]));
  return { ...schema.parse({ ...value, ...emptied }), ...Object.fromEntries(known) };
}

/**
 * Text that can be stored and comes back the same: without NUL, at which the database would cut it off, and without
 * halves of surrogate pairs, which no file can hold. Only for values that have passed their schema, so they end.
 */
export function cleanText(value: unknown): unknown {
  if (typeof value === 'string') return Buffer.from(value.replaceAll('\0', '')).toString();
  if (Array.isArray(value)) return value.map(cleanText);
  if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value)) return value;
  return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, cleanText(item)]));
}

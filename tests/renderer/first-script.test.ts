import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

/** The built window: what it runs before its first screen, and what it reads later. */
const folder = fileURLToPath(new URL('../../dist/renderer', import.meta.url));
const read = (name: string): string => readFileSync(join(folder, 'assets', name), 'utf8');

/** A file with all that it imports before it runs. */
function together(name: string, seen = new Set<string>()): string {
  if (seen.has(name)) return '';
  seen.add(name);
  const text = read(name);
  const imported = [...text.matchAll(/(?:from|import)\s*["']\.\/([\w.-]+\.js)["']/g)];
  return text + imported.map(([, other]) => together(other, seen)).join('');
}

/** Words that only one part of the window says, and a name that the library of schemas keeps. */
const SHELF = 'Opening the daybook…';
const STYLUS = 'Wear against hours';
const KEEPING = 'In the bin';
const SCHEMAS = 'ZodError';

describe('the script of the window', () => {
  const html = readFileSync(join(folder, 'index.html'), 'utf8');
  const entry = /<script[^>]*src="\.\/assets\/([\w.-]+\.js)"/.exec(html)?.[1] ?? '';

  it('has at once what the shelf and a stylus need, and neither schemas nor the other screens', () => {
    const first = together(entry);
    expect(first).toContain(SHELF);
    expect(first).toContain(STYLUS);
    expect(first).not.toContain(KEEPING);
    expect(first).not.toContain(SCHEMAS);
  });

  it('has the rest in files that it reads later', () => {
    const later = readdirSync(join(folder, 'assets'))
      .filter((name) => name.endsWith('.js') && name !== entry)
      .map(read)
      .join('');
    expect(later).toContain(KEEPING);
    expect(later).toContain(SCHEMAS);
  });
});

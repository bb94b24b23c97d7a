import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { openCollection } from '../../../electron/host/store/collection.ts';
import type { Collection, CollectionOptions } from '../../../electron/host/store/collection.ts';
import { addCapture } from '../../../electron/host/store/captures.ts';
import { addEntry } from '../../../electron/host/store/entries.ts';
import type { CaptureFacts } from '../../../electron/host/store/rows.ts';
import { createStylus } from '../../../electron/host/store/styluses.ts';
import type { Capture, Stylus } from '../../../shared/index.ts';
import { DRAFT, FACTS, picture } from '../support.ts';

const facts: CaptureFacts = FACTS;

/** Collections for the tests of keeping, made through the store itself. */
export const open = (folder: string, options: Partial<CollectionOptions> = {}): Promise<Collection> =>
  openCollection({ folder, who: 'a test', ...options });

export async function addOne(collection: Collection, stylus: Stylus, shade: number): Promise<Capture> {
  const { originals, db } = collection;
  const bytes = await picture(shade);
  const staged = await originals.stage(bytes);
  await originals.adopt(staged, 'image/png');
  await originals.withdraw(staged.token);
  const { sha256 } = staged;
  const original = { sha256, byteLength: bytes.length, mediaType: 'image/png', widthPx: 64, heightPx: 48 };
  return addCapture(db, { ...facts, stylusId: stylus.id, fileName: `${shade}.png`, original });
}

/** One stylus, pictures of the given shades, one entry. */
export async function fill(
  collection: Collection,
  name: string,
  shades: readonly number[],
): Promise<{ stylus: Stylus; captures: Capture[] }> {
  const { db } = collection;
  const stylus = createStylus(db, { ...DRAFT, name });
  const captures: Capture[] = [];
  for (const shade of shades) captures.push(await addOne(collection, stylus, shade));
  addEntry(db, { stylusId: stylus.id, kind: 'note', date: '2024-01-02', played: null, text: `on ${name}` });
  return { stylus, captures };
}

/** Rows of every table but the trace of changes, to be compared. */
export function rowsOf({ db }: Collection): Record<string, unknown[]> {
  const tables = db.all(
    "SELECT name FROM sqlite_schema WHERE type = 'table' AND name <> 'change' ORDER BY name",
  );
  return Object.fromEntries(
    tables.map(({ name }) => [
      String(name),
      db.all(`SELECT * FROM ${String(name)} ORDER BY 1`).map((row) => ({ ...row })),
    ]),
  );
}

/** Names of all files and folders below a folder. */
export const namesIn = (folder: string): string[] =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => statSync(join(folder, name)).isFile())
    .toSorted();

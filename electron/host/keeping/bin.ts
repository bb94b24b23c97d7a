import { join } from 'node:path';
import type { BinEmptied } from '../../../shared/index.ts';
import { destroyBinned } from '../store/bin.ts';
import { isLawOf } from '../wear/laws.ts';
import type { Collection } from '../store/collection.ts';
import { readSettings } from './settings.ts';

/**
 * Empties the bin: rows first, files after them. A file that stays behind when this is cut off belongs to no row, so
 * the next start moves it to the folder "bin"; the other way round a row would have lost its picture.
 */
export async function emptyBin(collection: Collection, before: Date): Promise<BinEmptied> {
  const { db, disk, originals, folder } = collection;
  const { files, things, pictures, stillUsed } = destroyBinned(db, before.toISOString());
  for (const { sha256, mediaType } of files) {
    await disk.remove(originals.pathOf(sha256, mediaType));
    for (const name of await disk.list(join(folder, 'derived')))
      if (name.startsWith(sha256)) await disk.remove(join(folder, 'derived', name));
  }
  for (const name of await disk.list(join(folder, 'derived')))
    if (isLawOf(name, (id) => db.get('SELECT id FROM stylus WHERE id = ?', id) === undefined))
      await disk.remove(join(folder, 'derived', name));
  // Files that no row has named for as long.
  const bin = join(folder, 'bin');
  let loose = 0;
  for (const name of await disk.list(bin)) {
    const changed = await disk.changedAt(join(bin, name));
    if (changed === null || changed >= before.getTime()) continue;
    await disk.remove(join(bin, name));
    loose++;
  }
  return { things, pictures: pictures + loose, stillUsed };
}

/** At the start, and only where the person set a number of days. */
export async function emptyBinWhenDue(
  collection: Collection,
  now: Date = new Date(),
): Promise<BinEmptied | null> {
  const { emptyBinAfterDays } = readSettings(collection.db);
  if (emptyBinAfterDays === null) return null;
  return emptyBin(collection, new Date(now.getTime() - emptyBinAfterDays * 86_400_000));
}

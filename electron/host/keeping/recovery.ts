import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Refusal } from '../../../shared/index.ts';
import type { Restored } from '../../../shared/index.ts';
import type { Collection } from '../store/collection.ts';
import type { Database } from '../store/database.ts';
import { openDatabase } from '../store/database.ts';
import type { Disk } from '../store/disk.ts';
import { createOriginals } from '../store/originals.ts';
import { salvage } from '../store/salvage.ts';
import type { Salvaged } from '../store/salvage.ts';
import { switchTo } from '../store/switch.ts';
import { inStaging, stampOf } from './backup.ts';
import { freeAside } from './restore.ts';

/**
 * What can be done with a collection whose database does not open: look at what can still be read, in a copy that
 * nothing is written to, or go on with that. Its folder is held and its database closed, so its files may be copied.
 */
const PARTS = ['daybook.sqlite', 'daybook.sqlite-wal'];

async function copyDatabase(disk: Disk, folder: string, place: string): Promise<string> {
  if ((await disk.sizeOf(join(folder, 'daybook.sqlite'))) === null)
    throw new Refusal(
      'nothing-to-save',
      'The database is not there at all, so there is nothing to read. The pictures are in the folder "originals". ' +
        'Take a backup back, if there is one.',
    );
  for (const name of PARTS)
    if ((await disk.kindOf(join(folder, name))) === 'file')
      await disk.writeStream(join(place, `damaged-${name}`), await disk.readStream(join(folder, name)));
  // The log is found by its name beside the database.
  return join(place, 'damaged-daybook.sqlite');
}

const readOnly = (db: Database): Database => {
  db.run('PRAGMA query_only = ON');
  return db;
};

/** The salvaged database for looking only; the pictures are those of the collection itself. */
export async function openCopy(disk: Disk, folder: string): Promise<Collection & { salvaged: Salvaged }> {
  const place = await mkdtemp(join(tmpdir(), 'daybook-copy-'));
  const forget = () => rm(place, { recursive: true, force: true });
  try {
    const file = join(place, 'daybook.sqlite');
    const salvaged = await salvage(await copyDatabase(disk, folder, place), file);
    const db = readOnly(await openDatabase({ file, backupFile: null }));
    const close = () => {
      db.close();
      void forget().catch(() => undefined);
    };
    return { folder, db, originals: createOriginals(disk, folder), disk, notices: [], close, salvaged };
  } catch (error) {
    await forget();
    throw error;
  }
}

/** Goes on with what could be read; the damaged database is kept aside, the pictures stay where they are. */
export function keepSalvaged(disk: Disk, folder: string): Promise<Restored> {
  return inStaging(disk, folder, async (place, from) => {
    const copy = await copyDatabase(disk, folder, place);
    await salvage(copy, join(place, 'daybook.sqlite'));
    const aside = await freeAside(disk, folder, `aside/${stampOf(new Date())}`);
    await switchTo(disk, folder, { from, aside });
    return { aside, missing: [] };
  });
}

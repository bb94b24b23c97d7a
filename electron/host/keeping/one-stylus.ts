import { join } from 'node:path';
import { MAX_UPLOAD_BYTES, Refusal } from '../../../shared/index.ts';
import { carryIn, reduceCopy } from '../store/carry.ts';
import type { Carried } from '../store/carry.ts';
import type { Collection } from '../store/collection.ts';
import { originalName } from '../store/originals.ts';
import { openDatabase } from '../store/database.ts';
import { originalRows, originalsInCopy } from '../store/staged.ts';
import { readStylus } from '../store/styluses.ts';
import { inStaging, packArchive } from './backup.ts';
import type { Packed } from './backup.ts';
import { safeFileName } from './file-names.ts';
import type { Watch } from './archive-write.ts';
import { assertGoingOn } from './archive-write.ts';
import { stageArchive } from './restore.ts';

/** A single stylus to be given away or moved: the same kind of archive as a backup, with nothing of the others in it. */
export function stylusFileName(collection: Collection, stylusId: string): string {
  const { name } = readStylus(collection.db, stylusId);
  return `stylus ${safeFileName(name)} ${new Date().toISOString().slice(0, 10)}.zip`;
}

type ExportOptions = {
  readonly stylusId: string;
  readonly program: string;
  readonly target: string;
  readonly fileName: string;
};

export function exportStylus(
  collection: Collection,
  options: ExportOptions,
  watch: Watch = {},
): Promise<Packed> {
  const { stylusId, program, target, fileName } = options;
  return inStaging(collection.disk, collection.folder, async (place) => {
    const database = join(place, 'daybook.sqlite');
    await collection.db.copyTo(database);
    reduceCopy(database, stylusId);
    const rows = originalsInCopy(database);
    const about = { kind: 'stylus', program } as const;
    return packArchive(collection, { database, rows, about, target, fileName }, watch);
  });
}

/** The same as bytes, for a window that hands it to the person as a download. */
export async function exportStylusBytes(
  collection: Collection,
  stylusId: string,
  program: string,
  watch: Watch,
): Promise<{ bytes: Uint8Array<ArrayBuffer>; fileName: string }> {
  const { disk, folder } = collection;
  const fileName = stylusFileName(collection, stylusId);
  return inStaging(disk, folder, async (target) => {
    const packed = await exportStylus(collection, { stylusId, program, target, fileName }, watch);
    if (packed.byteLength > MAX_UPLOAD_BYTES)
      throw new Refusal(
        'too-large',
        `The stylus with its pictures has more than ${MAX_UPLOAD_BYTES / 2 ** 20} MB. Export it on the command line, ` +
          'which writes it straight to the disk.',
      );
    return { bytes: new Uint8Array(await disk.read(packed.path)), fileName };
  });
}

/** Pictures first, rows after them; when the rows fail, the pictures that were new go again. */
export function importStylus(collection: Collection, path: string, watch: Watch = {}): Promise<Carried> {
  const { disk, folder, db, originals } = collection;
  return inStaging(disk, folder, async (place) => {
    await stageArchive(disk, path, place, 'stylus', watch);
    assertGoingOn(watch);
    const file = join(place, 'daybook.sqlite');
    const staged = await openDatabase({ file, backupFile: null });
    const taken: string[] = [];
    try {
      for (const { sha256, mediaType } of originalRows(staged)) {
        const from = join(place, 'originals', originalName(sha256, mediaType));
        const target = originals.pathOf(sha256, mediaType);
        if ((await disk.sizeOf(from)) === null || (await originals.isIntact(sha256, mediaType))) continue;
        await disk.makeFolder(join(folder, 'originals'));
        await disk.rename(from, target);
        taken.push(target);
      }
      if (taken.length > 0) await disk.syncFolder(join(folder, 'originals'));
      return carryIn(db, staged);
    } catch (error) {
      for (const target of taken) await disk.remove(target).catch(() => undefined);
      throw error;
    } finally {
      staged.close();
    }
  });
}

/** The same from bytes that a window handed over. */
export function importStylusBytes(collection: Collection, bytes: Uint8Array, watch: Watch): Promise<Carried> {
  return inStaging(collection.disk, collection.folder, async (place) => {
    const path = join(place, 'handed-over.zip');
    await collection.disk.writeNew(path, bytes);
    return importStylus(collection, path, watch);
  });
}

import { randomBytes } from 'node:crypto';
import { basename, isAbsolute, join } from 'node:path';
import { Refusal } from '../../../shared/index.ts';
import type { BackupMade } from '../../../shared/index.ts';
import type { Collection } from '../store/collection.ts';
import type { Disk } from '../store/disk.ts';
import { isSwitching } from '../store/switch.ts';
import { originalName } from '../store/originals.ts';
import { MIGRATIONS, README_TEXT } from '../store/schema.ts';
import { originalsInCopy } from '../store/staged.ts';
import type { OriginalRow } from '../store/staged.ts';
import { textSource, writeBag } from './archive-write.ts';
import type { Source, Watch } from './archive-write.ts';
import { ARCHIVE_VERSION, DATABASE_PART } from './bag.ts';
import type { About } from './bag.ts';
import { verifyArchive } from './unpack.ts';

/** One archive that holds the whole collection, read back and compared before it gets its name. */
export type BackupKind = 'by-hand' | 'weekly';

export const stampOf = (at: Date): string => at.toISOString().slice(0, 19).replaceAll(':', '-');

/** Half-done work has a folder of its own inside the collection; it is emptied at every start. */
export async function inStaging<T>(
  disk: Disk,
  folder: string,
  work: (place: string, name: string) => Promise<T>,
): Promise<T> {
  const name = `staging/${randomBytes(8).toString('hex')}`;
  const place = join(folder, name);
  await disk.makeFolder(place);
  try {
    return await work(place, name);
  } finally {
    // A switch that was begun and not finished still needs what lies here; the next start finishes it.
    const idle = await isSwitching(disk, folder).then(
      (switching) => !switching,
      () => false,
    );
    if (idle) {
      await disk.remove(place).catch(() => undefined);
      await removeIfEmpty(disk, join(folder, 'staging')).catch(() => undefined);
    }
  }
}

async function removeIfEmpty(disk: Disk, folder: string): Promise<void> {
  if ((await disk.list(folder)).length === 0) await disk.remove(folder);
}

/** Only intact pictures go in; the others are named, so that a backup never claims to hold what it does not. */
async function pictureSources(
  collection: Collection,
  rows: readonly OriginalRow[],
): Promise<[Source[], string[]]> {
  const { originals, disk } = collection;
  const sources: Source[] = [];
  const missing: string[] = [];
  for (const { sha256, mediaType } of rows) {
    const path = originals.pathOf(sha256, mediaType);
    if (!(await originals.isIntact(sha256, mediaType))) missing.push(sha256);
    else
      sources.push({
        name: `data/originals/${originalName(sha256, mediaType)}`,
        byteLength: (await disk.sizeOf(path)) ?? 0,
        compress: mediaType === 'image/tiff',
        open: () => disk.readStream(path),
      });
  }
  return [sources, missing];
}

export type Packed = { readonly path: string; readonly byteLength: number; readonly missing: string[] };

type PackOptions = {
  readonly database: string;
  readonly rows: readonly OriginalRow[];
  readonly about: Pick<About, 'kind' | 'program'>;
  readonly target: string;
  readonly fileName: string;
};

/** Writes, reads back, renames: under its own name there is only ever a whole archive. */
export async function packArchive(
  collection: Collection,
  { database, rows, about, target, fileName }: PackOptions,
  watch: Watch,
): Promise<Packed> {
  const { disk } = collection;
  const at = new Date();
  const [pictures, missing] = await pictureSources(collection, rows);
  const full: About = {
    what: 'stylus-daybook-archive',
    archiveVersion: ARCHIVE_VERSION,
    schemaVersion: MIGRATIONS.at(-1)!.version,
    createdAt: at.toISOString(),
    missing,
    ...about,
  };
  const payload: Source[] = [
    {
      name: DATABASE_PART,
      byteLength: (await disk.sizeOf(database)) ?? 0,
      compress: true,
      open: () => disk.readStream(database),
    },
    textSource('data/README.txt', README_TEXT),
    ...pictures,
  ];
  const path = join(target, fileName);
  const unfinished = `${path}.part`;
  const needed = payload.reduce((sum, source) => sum + source.byteLength, 0);
  if (needed > (await disk.freeBytes(target)))
    throw new Refusal(
      'disk-full',
      'There is not enough room for the backup. Nothing was changed. Make room and try again.',
    );
  try {
    await disk.remove(unfinished);
    const half = (fraction: number, from: number) => from + fraction / 2;
    const { onProgress, signal } = watch;
    const top = basename(fileName, '.zip');
    await writeBag(disk, unfinished, payload, full, {
      top,
      at,
      stage: 'Writing the archive',
      signal,
      onProgress: (stage, fraction) => onProgress?.(stage, half(fraction, 0)),
    });
    await verifyArchive(disk, unfinished, {
      signal,
      onProgress: (stage, fraction) => onProgress?.(stage, half(fraction, 0.5)),
    });
    const byteLength = (await disk.sizeOf(unfinished)) ?? 0;
    await disk.rename(unfinished, path);
    await disk.syncFolder(target);
    return { path, byteLength, missing };
  } catch (error) {
    await disk.remove(unfinished).catch(() => undefined);
    throw error;
  }
}

export const backupsFolder = (folder: string): string => join(folder, 'backups');

/** The folder that a person named, or the collection's own one; refuses one that is not there. */
export async function targetFolder(collection: Collection, named: string | null): Promise<string> {
  const { disk, folder } = collection;
  if (named === null) {
    await disk.makeFolder(backupsFolder(folder));
    return backupsFolder(folder);
  }
  if (!isAbsolute(named))
    throw new Refusal(
      'bad-input',
      `Give the whole path of the folder, from its root; "${named}" is only a part.`,
    );
  if ((await disk.kindOf(named)) === null || (await disk.kindOf(named)) === 'file')
    throw new Refusal(
      'no-such-folder',
      `There is no folder ${named}. Plug the disk in, or choose another folder.`,
    );
  return named;
}

async function freeName(disk: Disk, target: string, stem: string): Promise<string> {
  for (let i = 1; ; i++) {
    const name = i === 1 ? `${stem}.zip` : `${stem}-${i}.zip`;
    if ((await disk.kindOf(join(target, name))) === null) return name;
  }
}

export type BackupOptions = {
  readonly kind: BackupKind;
  readonly target: string;
  readonly program: string;
};

export async function makeBackup(
  collection: Collection,
  { kind, target, program }: BackupOptions,
  watch: Watch = {},
): Promise<BackupMade> {
  const { db, disk, folder } = collection;
  return inStaging(disk, folder, async (place) => {
    const database = join(place, 'daybook.sqlite');
    watch.onProgress?.('Copying the database', 0);
    await db.copyTo(database);
    const rows = originalsInCopy(database);
    const fileName = await freeName(disk, target, `stylus-daybook-${kind}-${stampOf(new Date())}`);
    const packed = await packArchive(
      collection,
      { database, rows, about: { kind: 'collection', program }, target, fileName },
      watch,
    );
    return { ...packed, pictures: rows.length - packed.missing.length };
  });
}

import { join } from 'node:path';
import { Refusal } from '../../../shared/index.ts';
import type { Restored } from '../../../shared/index.ts';
import type { Disk } from '../store/disk.ts';
import { connect } from '../store/database.ts';
import type { Connect } from '../store/database.ts';
import { originalName } from '../store/originals.ts';
import { checkStaged, originalRows } from '../store/staged.ts';
import type { OriginalRow } from '../store/staged.ts';
import { switchTo } from '../store/switch.ts';
import { inStaging, stampOf } from './backup.ts';
import type { Watch } from './archive-write.ts';
import { assertGoingOn } from './archive-write.ts';
import { DATABASE_PART, PICTURE_PART, refused } from './bag.ts';
import { unpackArchive } from './unpack.ts';
import type { Unpacked } from './unpack.ts';

/**
 * Taking a backup back. Everything happens in a staging folder until all checksums, the database and the pictures it
 * names have been found in order; then one switch, and what was there before is kept aside.
 */

/** Pictures in the archive and pictures named by its database are the same, but for those it says it lacks. */
function assertPicturesMatch(rows: readonly OriginalRow[], { about, manifest }: Unpacked): void {
  const there = new Set([...manifest.keys()].filter((name) => PICTURE_PART.test(name)));
  const lacking = new Set(about.missing);
  for (const { sha256, mediaType } of rows) {
    const name = `data/originals/${originalName(sha256, mediaType)}`;
    if (!there.delete(name) && !lacking.has(sha256))
      throw refused('a picture that its database names is missing in it');
  }
  if (there.size > 0) throw refused('it holds a picture that its database does not name');
}

/** Unpacks into `place` and checks everything; the database there has the present format afterwards. */
export async function stageArchive(
  disk: Disk,
  path: string,
  place: string,
  kind: Unpacked['about']['kind'],
  watch: Watch,
  make: Connect = connect,
): Promise<Unpacked> {
  const unpacked = await unpackArchive(disk, path, place, watch);
  if (unpacked.about.kind !== kind)
    throw new Refusal(
      'bad-archive',
      kind === 'collection'
        ? 'The archive holds a single stylus, not a whole collection. Import it as a stylus instead. Nothing was changed.'
        : 'The archive holds a whole collection, not a single stylus. Take it back as a backup instead. Nothing was changed.',
    );
  watch.onProgress?.('Checking its database', 1);
  const rows = await checkStaged(join(place, fileOf(DATABASE_PART)), originalRows, make);
  assertPicturesMatch(rows, unpacked);
  return unpacked;
}

const fileOf = (part: string): string => part.slice('data/'.length);

/** A database alone, as it is kept before the format changes: the pictures stay where they are. */
async function stageDatabase(disk: Disk, path: string, place: string, make: Connect): Promise<void> {
  const target = join(place, 'daybook.sqlite');
  await disk.writeStream(target, await disk.readStream(path));
  await checkStaged(target, () => undefined, make);
  await disk.syncFolder(place);
}

/** The collection in `folder` must be held and its database closed. */
export async function restoreBackup(
  disk: Disk,
  folder: string,
  path: string,
  watch: Watch = {},
  make: Connect = connect,
): Promise<Restored> {
  return prepareRestore(disk, folder, path, watch, async (finish) => finish(), make);
}

/**
 * The same in two steps, for a program that has the collection open: `ready` is called when everything is staged and
 * checked, closes the database and then calls what it was given. Until then the collection may go on being used.
 */
export async function prepareRestore<T>(
  disk: Disk,
  folder: string,
  path: string,
  watch: Watch,
  ready: (finish: () => Promise<Restored>) => Promise<T>,
  make: Connect = connect,
): Promise<T> {
  return inStaging(disk, folder, async (place, from) => {
    const isArchive = !path.toLowerCase().endsWith('.sqlite');
    const missing = isArchive
      ? (await stageArchive(disk, path, place, 'collection', watch, make)).about.missing
      : (await stageDatabase(disk, path, place, make), []);
    assertGoingOn(watch);
    const aside = `aside/${stampOf(new Date())}`;
    return ready(async () => {
      const free = await freeAside(disk, folder, aside);
      await switchTo(disk, folder, { from, aside: free });
      return { aside: free, missing };
    });
  });
}

/** A folder below aside/ that is not taken yet. */
export async function freeAside(disk: Disk, folder: string, wished: string): Promise<string> {
  for (let i = 1; ; i++) {
    const name = i === 1 ? wished : `${wished}-${i}`;
    if ((await disk.kindOf(join(folder, name))) === null) return name;
  }
}

/** Exchanges the present collection for one that was kept aside; the database must be closed. */
export async function takeAsideBack(disk: Disk, folder: string, name: string): Promise<Restored> {
  if (!/^[\w-]+$/.test(name) || (await disk.kindOf(join(folder, 'aside', name, 'daybook.sqlite'))) !== 'file')
    throw new Refusal('not-found', 'That earlier collection is not there any more. Nothing was changed.');
  const aside = await freeAside(disk, folder, `aside/${stampOf(new Date())}`);
  await switchTo(disk, folder, { from: `aside/${name}`, aside });
  return { aside, missing: [] };
}

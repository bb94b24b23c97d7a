import { join } from 'node:path';
import { knownOriginals } from './captures.ts';
import { Refusal } from '../../../shared/index.ts';
import { openDatabase } from './database.ts';
import type { Connect, Database } from './database.ts';
import { realDisk, replaceFile } from './disk.ts';
import type { Disk } from './disk.ts';
import { holdFolder } from './hold.ts';
import type { Hold } from './hold.ts';
import { folderNotices } from './notices.ts';
import { createOriginals } from './originals.ts';
import type { Originals, Tidied } from './originals.ts';
import { MIGRATIONS, README_TEXT } from './schema.ts';
import type { Migration } from './schema.ts';
import { finishSwitch } from './switch.ts';

export type Collection = {
  readonly folder: string;
  readonly db: Database;
  readonly originals: Originals;
  readonly disk: Disk;
  /** Sentences that the person should see at start. */
  readonly notices: string[];
  close(): void;
};

export type CollectionOptions = {
  readonly folder: string;
  /** Named to whoever finds the collection in use, e.g. "the Stylus Daybook window". */
  readonly who: string;
  readonly disk?: Disk;
  readonly migrations?: readonly Migration[];
  readonly connect?: Connect;
};

export const DATABASE = 'daybook.sqlite';

/** Opens a collection, or makes a new one in an empty place; at most one program at a time. */
export async function openCollection(options: CollectionOptions): Promise<Collection> {
  const hold = await holdFolder(options.folder, options.who, options.disk);
  try {
    const collection = await openHeld(hold, options);
    const close = () => {
      try {
        collection.close();
      } finally {
        hold.release();
      }
    };
    return { ...collection, close };
  } catch (error) {
    hold.release();
    throw error;
  }
}

/** Opens what lies in a held folder; closing it keeps the hold. */
export async function openHeld(
  { folder }: Hold,
  options: Pick<CollectionOptions, 'disk' | 'migrations' | 'connect'> = {},
): Promise<Collection> {
  const { disk = realDisk } = options;
  // A restore that was cut off is finished before anything is opened.
  await finishSwitch(disk, folder);
  await assertNotLost(disk, folder);
  const db = await openIn(folder, disk, options);
  try {
    const originals = createOriginals(disk, folder);
    const tidied = await originals.tidy(knownOriginals(db));
    const notices = [...folderNotices(folder), ...tidyNotices(tidied)];
    return { folder, db, originals, disk, notices, close: () => db.close() };
  } catch (error) {
    db.close();
    throw error;
  }
}

/** An empty place is a new collection; pictures without a database are an old one that has lost it. */
async function assertNotLost(disk: Disk, folder: string): Promise<void> {
  if ((await disk.sizeOf(join(folder, DATABASE))) ?? 0) return;
  const pictures = await disk.list(join(folder, 'originals'));
  if (pictures.length > 0)
    throw new Refusal(
      'collection-damaged',
      'The collection has pictures but its database is missing or empty. Nothing was changed. Take it back from a ' +
        'backup; what is there now is kept aside.',
    );
}

async function openIn(
  folder: string,
  disk: Disk,
  { migrations = MIGRATIONS, connect }: Pick<CollectionOptions, 'migrations' | 'connect'>,
): Promise<Database> {
  const backups = join(folder, 'backups');
  await disk.makeFolder(backups);
  const stamp = new Date().toISOString().replaceAll(/[:.]/g, '-');
  const db = await openDatabase({
    file: join(folder, DATABASE),
    backupFile: (from) => join(backups, `before-format-${from + 1}-${stamp}.sqlite`),
    migrations,
    ...(connect ? { connect } : {}),
  });
  try {
    await describe(folder, disk, migrations);
    return db;
  } catch (error) {
    db.close();
    throw error;
  }
}

/** The folder explains itself to whoever finds it without the program. */
async function describe(folder: string, disk: Disk, migrations: readonly Migration[]): Promise<void> {
  const schema = migrations.map((step) => `-- format ${step.version}\n${step.sql}`).join('\n');
  for (const [name, text] of [
    ['README.txt', README_TEXT],
    ['schema.sql', schema],
  ] as const) {
    const bytes = new TextEncoder().encode(text);
    const path = join(folder, name);
    const same =
      (await disk.sizeOf(path)) === bytes.byteLength && Buffer.from(await disk.read(path)).equals(bytes);
    if (!same) await replaceFile(disk, folder, name, bytes);
  }
}

function tidyNotices({ missing, movedToBin }: Tidied): string[] {
  const notices: string[] = [];
  if (missing.length > 0)
    notices.push(
      `${missing.length} stored picture${missing.length === 1 ? ' is' : 's are'} missing in the folder "originals". ` +
        'Everything else is there. Take the missing files back from a backup.',
    );
  if (movedToBin.length > 0)
    notices.push(
      `${movedToBin.length} picture file${movedToBin.length === 1 ? '' : 's'} that nothing in the collection names ` +
        'went to its folder "bin". Nothing was deleted.',
    );
  return notices;
}

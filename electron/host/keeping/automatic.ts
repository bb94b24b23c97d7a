import type { Collection } from '../store/collection.ts';
import { backupsFolder, makeBackup, targetFolder } from './backup.ts';
import type { Watch } from './archive-write.ts';
import { listBackups } from './list.ts';
import { readSettings } from './settings.ts';

/** What is done unasked: a backup every so many days, and no more of them than were wished for. */
const DAY_MS = 86_400_000;

const hasOwn = ({ db }: Collection): boolean =>
  db.get('SELECT 1 FROM stylus WHERE demo = 0 LIMIT 1') !== undefined;

/** True when the newest automatic backup is older than wished, or there is none; the demo alone is not worth one. */
export async function isBackupDue(collection: Collection, now: Date): Promise<boolean> {
  const { backupEveryDays, backupFolder } = readSettings(collection.db);
  if (backupEveryDays === null || !hasOwn(collection)) return false;
  const backups = await listBackups(collection.disk, collection.folder, backupFolder);
  const last = backups.find((one) => one.kind === 'weekly');
  // A date in the future is a clock that was wrong: no reason to go without backups until then.
  const age = last === undefined ? Infinity : now.getTime() - Date.parse(last.at);
  return age >= backupEveryDays * DAY_MS || age < 0;
}

/** Takes away the oldest automatic ones beyond those that are to be kept. Those made by hand are never touched. */
export async function pruneBackups(collection: Collection): Promise<string[]> {
  const { disk, folder, db } = collection;
  const { backupFolder, backupsKept } = readSettings(db);
  const removed: string[] = [];
  for (const kind of ['weekly', 'before-format'] as const) {
    const backups = (await listBackups(disk, folder, backupFolder)).filter((one) => one.kind === kind);
    for (const { path } of backups.slice(backupsKept)) {
      await disk.remove(path);
      removed.push(path);
    }
  }
  return removed;
}

/** Makes the backup that is due, if one is; returns a sentence when it could not be made. */
export async function backUpWhenDue(
  collection: Collection,
  program: string,
  watch: Watch = {},
  now: Date = new Date(),
): Promise<string | null> {
  if (!(await isBackupDue(collection, now))) return null;
  const { backupFolder } = readSettings(collection.db);
  const reachable = await targetFolder(collection, backupFolder).catch(() => null);
  const target = reachable ?? (await targetFolder(collection, null));
  await makeBackup(collection, { kind: 'weekly', target, program }, watch);
  await pruneBackups(collection);
  if (reachable !== null) return null;
  return `The folder for backups (${backupFolder ?? ''}) is not there, so this week's went into ${backupsFolder(collection.folder)}.`;
}

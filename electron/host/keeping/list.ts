import { join } from 'node:path';
import type { Aside, Backup } from '../../../shared/index.ts';
import type { Disk } from '../store/disk.ts';
import { backupsFolder } from './backup.ts';

/** What could be taken back, from the disk alone: this must also work when the collection itself cannot be opened. */
const OURS = /^stylus-daybook-(by-hand|weekly)-(\d{4}-\d{2}-\d{2}T\d{2}-\d{2}-\d{2})(-\d+)?\.zip$/;
const BEFORE_FORMAT = /^before-format-\d+-(\d{4}-\d{2}-\d{2}T\d{2}-\d{2}-\d{2})[\w-]*\.sqlite$/;

/** 2024-03-01T10-00-00 as the time it was made from. */
const timeOf = (stamp: string): string => `${stamp.slice(0, 11)}${stamp.slice(11).replaceAll('-', ':')}Z`;

async function backupOf(disk: Disk, folder: string, fileName: string): Promise<Backup | null> {
  const path = join(folder, fileName);
  const own = OURS.exec(fileName);
  const database = BEFORE_FORMAT.exec(fileName);
  if (own === null && database === null && !/^stylus-daybook.*\.zip$/i.test(fileName)) return null;
  const byteLength = await disk.sizeOf(path);
  if (byteLength === null) return null;
  const stamp = own?.[2] ?? database?.[1];
  const changed = new Date((await disk.changedAt(path)) ?? 0).toISOString();
  const kind = own ? (own[1] as 'by-hand' | 'weekly') : database ? 'before-format' : 'other';
  return { path, fileName, kind, at: stamp === undefined ? changed : timeOf(stamp), byteLength };
}

async function listFolder(disk: Disk, folder: string): Promise<Backup[]> {
  // A disk that is not plugged in has no backups to show; that is no failure of the list.
  const names = await disk.list(folder).catch(() => []);
  const found = await Promise.all(names.map((name) => backupOf(disk, folder, name).catch(() => null)));
  return found.filter((one) => one !== null);
}

/** Newest first. Single styluses, which bear another name, are not among them. */
export async function listBackups(disk: Disk, folder: string, other: string | null): Promise<Backup[]> {
  const places = [...new Set([backupsFolder(folder), ...(other === null ? [] : [other])])];
  const found = await Promise.all(places.map((place) => listFolder(disk, place)));
  return found.flat().toSorted((a, b) => (a.at < b.at ? 1 : a.at > b.at ? -1 : 0));
}

export async function listAside(disk: Disk, folder: string): Promise<Aside[]> {
  const names = await disk.list(join(folder, 'aside'));
  const found: Aside[] = [];
  for (const name of names.toSorted().toReversed()) {
    const path = join(folder, 'aside', name);
    const whole = (await disk.kindOf(join(path, 'daybook.sqlite'))) === 'file';
    const stamp = /^\d{4}-\d{2}-\d{2}T\d{2}-\d{2}-\d{2}/.exec(name)?.[0];
    if (whole && stamp !== undefined) found.push({ name, path, at: timeOf(stamp) });
  }
  return found;
}

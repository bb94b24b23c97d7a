import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { mkdir, open, readFile, readdir, rename, rm, stat } from 'node:fs/promises';

/**
 * Everything the collection does to its folder, in one place: tests make call after call fail here. The database file
 * is never touched through it, because closing any handle of that file would drop the database's own locks.
 */
export type Disk = {
  makeFolder(path: string): Promise<void>;
  /** Names in a folder; empty when there is none. */
  list(path: string): Promise<string[]>;
  /** Size of a plain file, null when there is none. */
  sizeOf(path: string): Promise<number | null>;
  read(path: string): Promise<Uint8Array>;
  /** Writes a file that must not exist yet and waits until it lies on the disk. */
  writeNew(path: string, bytes: Uint8Array): Promise<void>;
  hash(path: string): Promise<string>;
  rename(from: string, to: string): Promise<void>;
  /** Waits until a folder's own entries (new and renamed files) lie on the disk. */
  syncFolder(path: string): Promise<void>;
  remove(path: string): Promise<void>;
};

const isMissing = (error: unknown): boolean => (error as NodeJS.ErrnoException).code === 'ENOENT';

async function orWhenMissing<T>(work: Promise<T>, otherwise: T): Promise<T> {
  try {
    return await work;
  } catch (error) {
    if (isMissing(error)) return otherwise;
    throw error;
  }
}

async function hashFile(path: string): Promise<string> {
  const hash = createHash('sha256');
  for await (const chunk of createReadStream(path)) hash.update(chunk as Buffer);
  return hash.digest('hex');
}

async function writeNew(path: string, bytes: Uint8Array): Promise<void> {
  const file = await open(path, 'wx', 0o644);
  try {
    await file.writeFile(bytes);
    await file.sync();
  } finally {
    await file.close();
  }
}

async function syncFolder(path: string): Promise<void> {
  // Windows cannot sync a folder; its file system journals the names itself.
  if (process.platform === 'win32') return;
  const folder = await open(path, 'r');
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
}

export const realDisk: Disk = {
  makeFolder: async (path) => void (await mkdir(path, { recursive: true })),
  list: (path) => orWhenMissing(readdir(path), []),
  sizeOf: async (path) => {
    const found = await orWhenMissing(stat(path), null);
    return found?.isFile() ? found.size : null;
  },
  read: async (path) => new Uint8Array(await readFile(path)),
  writeNew,
  hash: hashFile,
  rename,
  syncFolder,
  remove: (path) => rm(path, { recursive: true, force: true }),
};

/** Replaces a file in one step: readers see the old content or the new one, also after a power cut. */
export async function replaceFile(
  disk: Disk,
  folder: string,
  name: string,
  bytes: Uint8Array,
): Promise<void> {
  const temporary = `${folder}/.${name}.${process.pid}.tmp`;
  try {
    await disk.remove(temporary);
    await disk.writeNew(temporary, bytes);
    await disk.rename(temporary, `${folder}/${name}`);
    await disk.syncFolder(folder);
  } catch (error) {
    await disk.remove(temporary).catch(() => undefined);
    throw error;
  }
}

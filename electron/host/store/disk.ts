import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { lstat, mkdir, open, readFile, readdir, rename, rm, stat, statfs } from 'node:fs/promises';
import type { FileHandle } from 'node:fs/promises';
import type { Readable } from 'node:stream';

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
  /** What a name stands for, links not followed; null when there is nothing. */
  kindOf(path: string): Promise<'file' | 'folder' | 'other' | null>;
  /** When a file's content or name last changed, milliseconds since 1970; null when there is none. */
  changedAt(path: string): Promise<number | null>;
  read(path: string): Promise<Uint8Array>;
  /** The file's content in pieces; `range` counts bytes, its end excluded. */
  readStream(path: string, range?: { start: number; end: number }): Promise<Readable>;
  /** Writes a file that must not exist yet and waits until it lies on the disk. */
  writeNew(path: string, bytes: Uint8Array): Promise<void>;
  /** The same for content that comes in pieces; tells what was written. */
  writeStream(path: string, pieces: AsyncIterable<Uint8Array>): Promise<Written>;
  hash(path: string): Promise<string>;
  rename(from: string, to: string): Promise<void>;
  /** Waits until a folder's own entries (new and renamed files) lie on the disk. */
  syncFolder(path: string): Promise<void>;
  remove(path: string): Promise<void>;
  /** Room on the disk that holds the folder, in bytes. */
  freeBytes(path: string): Promise<number>;
};
export type Written = { readonly sha256: string; readonly byteLength: number };

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

async function writePieces(file: FileHandle, pieces: AsyncIterable<Uint8Array>): Promise<Written> {
  const hash = createHash('sha256');
  let byteLength = 0;
  for await (const piece of pieces) {
    hash.update(piece);
    byteLength += piece.byteLength;
    // A single write may take less than it was given.
    for (let at = 0; at < piece.byteLength;) at += (await file.write(piece, at)).bytesWritten;
  }
  await file.sync();
  return { sha256: hash.digest('hex'), byteLength };
}

async function writeStream(path: string, pieces: AsyncIterable<Uint8Array>): Promise<Written> {
  const file = await open(path, 'wx', 0o644);
  try {
    return await writePieces(file, pieces);
  } finally {
    await file.close();
  }
}

async function kindOf(path: string): Promise<'file' | 'folder' | 'other' | null> {
  const found = await orWhenMissing(lstat(path), null);
  if (found === null) return null;
  return found.isFile() ? 'file' : found.isDirectory() ? 'folder' : 'other';
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
  kindOf,
  changedAt: async (path) => {
    const found = await orWhenMissing(lstat(path), null);
    return found === null ? null : Math.max(found.mtimeMs, found.ctimeMs);
  },
  read: async (path) => new Uint8Array(await readFile(path)),
  readStream: async (path, range) =>
    createReadStream(path, range === undefined ? {} : { start: range.start, end: range.end - 1 }),
  writeNew,
  writeStream,
  hash: hashFile,
  rename,
  syncFolder,
  remove: (path) => rm(path, { recursive: true, force: true }),
  freeBytes: async (path) => {
    const { bavail, bsize } = await statfs(path);
    return bavail * bsize;
  },
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

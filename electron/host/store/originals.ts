import { createHash, randomBytes } from 'node:crypto';
import { join } from 'node:path';
import { Refusal } from '../../../shared/index.ts';
import type { Disk } from './disk.ts';

/**
 * Picture files. An offered picture waits in incoming/ under a token; an added one lies in originals/ under the hash of
 * its content and is never written again. A row is committed only after its file lies on the disk for good.
 */
export type Staged = { readonly token: string; readonly sha256: string; readonly byteLength: number };

export type Originals = {
  stage(bytes: Uint8Array): Promise<Staged>;
  stagedPath(token: string): string;
  withdraw(token: string): Promise<void>;
  /** Moves a staged file to its place; the caller commits the row afterwards, or calls what came back to undo it. */
  adopt(staged: Staged, mediaType: string): Promise<() => Promise<void>>;
  pathOf(sha256: string, mediaType: string): string;
  /** True when the stored file is there and its content is the one that was added. */
  isIntact(sha256: string, mediaType: string): Promise<boolean>;
  /**
   * At start: empties incoming/ and staging/, puts files that no row names into bin/ and fetches those back that a row
   * names again (after an older database was taken back, and the newer one after it).
   */
  tidy(known: ReadonlyMap<string, string>): Promise<Tidied>;
};
/** Hashes that are missing, names of files that nothing names any more. */
export type Tidied = { readonly missing: string[]; readonly movedToBin: string[] };

const EXTENSIONS: Record<string, string> = {
  'image/jpeg': 'jpg',
  'image/png': 'png',
  'image/tiff': 'tif',
  'image/webp': 'webp',
  'audio/wav': 'wav',
};

export const MEDIA_TYPES: readonly string[] = Object.keys(EXTENSIONS);
/** Endings that a name in originals/ may have. */
export const ENDINGS: readonly string[] = [...Object.values(EXTENSIONS), 'bin'];

const TOKEN = /^[0-9a-f]{32}$/;

export function originalName(sha256: string, mediaType: string): string {
  return `${sha256}.${EXTENSIONS[mediaType] ?? 'bin'}`;
}

export function createOriginals(disk: Disk, folder: string): Originals {
  const originals = join(folder, 'originals');
  const incoming = join(folder, 'incoming');
  const bin = join(folder, 'bin');
  const stagedPath = (token: string): string => {
    if (!TOKEN.test(token)) throw new Refusal('no-such-picture', 'That picture is not waiting to be added.');
    return join(incoming, token);
  };
  const pathOf = (sha256: string, mediaType: string) => join(originals, originalName(sha256, mediaType));

  async function stage(bytes: Uint8Array): Promise<Staged> {
    const token = randomBytes(16).toString('hex');
    const path = stagedPath(token);
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    await disk.makeFolder(incoming);
    try {
      await disk.writeNew(path, bytes);
      // Read back: what lies on the disk is what was handed over, or it is not taken.
      if ((await disk.hash(path)) !== sha256) throw new Error('the copy differs from the picture');
    } catch (error) {
      await disk.remove(path).catch(() => undefined);
      throw error;
    }
    return { token, sha256, byteLength: bytes.byteLength };
  }

  async function adopt({ token, sha256 }: Staged, mediaType: string): Promise<() => Promise<void>> {
    const target = pathOf(sha256, mediaType);
    await disk.makeFolder(originals);
    const there = (await disk.sizeOf(target)) !== null && (await disk.hash(target)) === sha256;
    // The same content twice is one file. A damaged one is replaced by the good copy that was just offered.
    if (there) return async () => undefined;
    await disk.rename(stagedPath(token), target);
    const undo = () => disk.rename(target, stagedPath(token));
    try {
      await disk.syncFolder(originals);
    } catch (error) {
      await undo().catch(() => undefined);
      throw error;
    }
    return undo;
  }

  async function fetchBack(name: string): Promise<boolean> {
    const waiting = join(bin, name);
    if ((await disk.sizeOf(waiting)) === null || !name.startsWith(await disk.hash(waiting))) return false;
    await disk.makeFolder(originals);
    await disk.rename(waiting, join(originals, name));
    await disk.syncFolder(originals);
    return true;
  }

  async function tidy(known: ReadonlyMap<string, string>): Promise<Tidied> {
    await disk.remove(incoming);
    await disk.remove(join(folder, 'staging'));
    // Half-written files of a run that was cut off while it replaced one (see replaceFile) or made a backup.
    for (const place of [folder, join(folder, 'derived'), join(folder, 'backups')])
      for (const name of await disk.list(place))
        if (/^\..+\.tmp$|\.part(-journal|-wal|-shm)?$/.test(name)) await disk.remove(join(place, name));
    const names = new Map([...known].map(([sha256, type]) => [originalName(sha256, type), sha256]));
    const found = await disk.list(originals);
    const orphans = found.filter((name) => !names.has(name));
    if (orphans.length > 0) await disk.makeFolder(bin);
    for (const name of orphans) await disk.rename(join(originals, name), join(bin, name));
    const there = new Set(found);
    const missing: string[] = [];
    for (const [name, sha256] of names)
      if (!there.has(name) && !(await fetchBack(name))) missing.push(sha256);
    return { missing, movedToBin: orphans };
  }

  return {
    stage,
    stagedPath,
    withdraw: async (token) => disk.remove(stagedPath(token)),
    adopt,
    pathOf,
    isIntact: async (sha256, mediaType) => {
      const path = pathOf(sha256, mediaType);
      return (await disk.sizeOf(path)) !== null && (await disk.hash(path)) === sha256;
    },
    tidy,
  };
}

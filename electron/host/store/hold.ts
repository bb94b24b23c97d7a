import { realDisk } from './disk.ts';
import type { Disk } from './disk.ts';
import { takeLock } from './lock.ts';

/** A collection's folder that is ours until it is let go, whether or not what is in it can be opened. */
export type Hold = { readonly folder: string; release(): void };

/** Apart from what opens a collection, so that a window can start while all of that is still being loaded. */
export async function holdFolder(folder: string, who: string, disk: Disk = realDisk): Promise<Hold> {
  await disk.makeFolder(folder);
  const lock = takeLock(folder, who);
  return { folder, release: () => lock.release() };
}

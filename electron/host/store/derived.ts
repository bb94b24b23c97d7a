import { join } from 'node:path';
import { z } from 'zod';
import { decodeMessage, encodeMessage } from '../../../shared/index.ts';
import type { Collection } from './collection.ts';
import { replaceFile } from './disk.ts';

const pictureSchema = z.object({
  bytes: z.instanceof(Uint8Array),
  mediaType: z.string(),
  widthPx: z.number().int(),
  heightPx: z.number().int(),
});
export type DerivedPicture = z.infer<typeof pictureSchema>;

/** Part of the name: a new way of making them makes new ones. */
const RECIPE = 1;

async function stored(collection: Collection, path: string): Promise<DerivedPicture | null> {
  try {
    return pictureSchema.parse(decodeMessage(await collection.disk.read(path)));
  } catch {
    // Not there, or damaged: it is made again.
    return null;
  }
}

/** A smaller copy for the screen, from derived/ where it is there, else made and kept. */
export async function derivedPicture(
  collection: Collection,
  sha256: string,
  maxEdgePx: number,
  make: () => Promise<DerivedPicture>,
): Promise<DerivedPicture> {
  const folder = join(collection.folder, 'derived');
  const name = `${sha256}-${maxEdgePx}-${RECIPE}.view`;
  const known = await stored(collection, join(folder, name));
  if (known !== null) return known;
  const made = await make();
  try {
    await collection.disk.makeFolder(folder);
    await replaceFile(collection.disk, folder, name, encodeMessage(made));
  } catch {
    // The picture can be shown without having been kept, for instance on a full disk.
  }
  return made;
}

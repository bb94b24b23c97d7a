import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { z } from 'zod';
import { ENGINE_VERSION } from '../../../core/version.ts';
import { type Fitter, fit, type WearLaw, type WearPoint } from '../../../core/wear/index.ts';
import { decodeMessage, encodeMessage, measuredSchema } from '../../../shared/index.ts';
import type { Collection } from '../store/collection.ts';
import { replaceFile } from '../store/disk.ts';

/** Laws that were fitted already: a fit costs up to half a second, and the same points have the same law. */
const KEPT = 200;
const kept = new Map<string, WearLaw | null>();

const keyOf = (points: readonly WearPoint[], unknownStart: boolean): string =>
  createHash('sha256')
    .update(JSON.stringify([ENGINE_VERSION, unknownStart, points]))
    .digest('hex');

export const isFitted = (points: readonly WearPoint[], unknownStart: boolean): boolean =>
  kept.has(keyOf(points, unknownStart));

export function keepLaw(points: readonly WearPoint[], unknownStart: boolean, law: WearLaw | null): void {
  kept.set(keyOf(points, unknownStart), law);
  if (kept.size > KEPT) kept.delete(kept.keys().next().value!);
}

export const fitOnce: Fitter = (points: readonly WearPoint[], unknownStart: boolean) => {
  const known = kept.get(keyOf(points, unknownStart));
  if (known !== undefined) return known;
  const law = fit(points, unknownStart);
  keepLaw(points, unknownStart, law);
  return law;
};

/** One wall of one stylus: its last law stands in derived/, so that the next start need not fit all of them again. */
export type Wall = { readonly stylusId: string; readonly side: 'left' | 'right' };

const CELLS = ['n', 'start', 'atEnd', 'weight'] as const;
const cellsSchema = z
  .instanceof(Uint8Array)
  .refine(({ byteLength }) => byteLength % 8 === 0)
  // A copy, because numbers of eight bytes must begin at a multiple of eight.
  .transform((bytes) => new Float64Array(bytes.slice().buffer));
const storedSchema = z.object({
  key: z.string(),
  law: z.object({
    referenceHours: z.number(),
    lastHours: z.number(),
    pointCount: z.number().int(),
    n: cellsSchema,
    start: cellsSchema,
    atEnd: cellsSchema,
    weight: cellsSchema,
    exponent: measuredSchema,
    startUm: measuredSchema,
    rate: measuredSchema,
    widened: z.number(),
  }),
});

type Stored = Pick<Collection, 'folder' | 'disk'>;
const folderOf = ({ folder }: Stored): string => join(folder, 'derived');
const nameOf = ({ stylusId, side }: Wall): string => `${stylusId}-${side}.law`;

/** Whether a file of derived/ is a law of a stylus that `isMeant`. */
export function isLawOf(name: string, isMeant: (stylusId: string) => boolean): boolean {
  const id = /^(\w+)-(?:left|right)\.law$/.exec(name)?.[1];
  return id !== undefined && isMeant(id);
}

/** True when the law of these points stood there; a damaged file is as good as none. */
export async function recallLaw(
  collection: Stored,
  wall: Wall,
  points: readonly WearPoint[],
  unknownStart: boolean,
): Promise<boolean> {
  try {
    const bytes = await collection.disk.read(join(folderOf(collection), nameOf(wall)));
    const { key, law } = storedSchema.parse(decodeMessage(bytes));
    const whole = CELLS.every((name) => law[name].length === law.n.length);
    if (!whole || key !== keyOf(points, unknownStart)) return false;
    keepLaw(points, unknownStart, law);
    return true;
  } catch {
    return false;
  }
}

export async function storeLaw(
  collection: Stored,
  wall: Wall,
  points: readonly WearPoint[],
  unknownStart: boolean,
  law: WearLaw,
): Promise<void> {
  const cells = Object.fromEntries(
    CELLS.map((name) => [name, new Uint8Array(law[name].slice().buffer)] as const),
  );
  const message = encodeMessage({ key: keyOf(points, unknownStart), law: { ...law, ...cells } });
  try {
    await collection.disk.makeFolder(folderOf(collection));
    await replaceFile(collection.disk, folderOf(collection), nameOf(wall), message);
  } catch {
    // The law holds without having been kept, for instance on a full disk.
  }
}

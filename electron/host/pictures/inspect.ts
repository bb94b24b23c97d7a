import { answer } from '../../../shared/index.ts';
import type { Dated, Outcome, Warning } from '../../../shared/index.ts';
import { openPicture, unreadableBecause } from './open.ts';
import type { OpenPicture } from './open.ts';
import { takenFromExif, takenFromFileName } from './taken.ts';

export type Inspected = {
  readonly mediaType: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly taken: Dated | null;
  readonly warnings: Warning[];
};

/** Decodes the whole picture once, so that a picture which is accepted is known to be readable to its last line. */
export async function inspectPicture(bytes: Uint8Array, fileName: string): Promise<Outcome<Inspected>> {
  const opened = await openPicture(bytes);
  if (!opened.ok) return opened;
  const open = opened.value;
  try {
    await open.sharp().stats();
  } catch (error) {
    return unreadableBecause(error);
  }
  const exif = open.mediaType === 'image/tiff' ? bytes : (open.metadata.exif ?? null);
  return answer({
    mediaType: open.mediaType,
    widthPx: open.width,
    heightPx: open.height,
    taken: (await takenFromExif(exif)) ?? takenFromFileName(fileName),
    warnings: open.warnings,
  });
}

export type ShownPicture = {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly mediaType: string;
  readonly widthPx: number;
  readonly heightPx: number;
};

/** JPEG keeps a large picture small on the way to the screen; small ones go without loss. */
const LOSSLESS_UP_TO_PX = 3_000_000;

/** The picture as it is shown and printed: upright, sRGB, 8 bits, no metadata (no place, no serial numbers). */
export async function showPicture(bytes: Uint8Array, maxEdgePx: number): Promise<Outcome<ShownPicture>> {
  const opened = await openPicture(bytes);
  if (!opened.ok) return opened;
  try {
    const { data, info } = await render(opened.value, maxEdgePx);
    return answer({
      bytes: new Uint8Array(data),
      mediaType: `image/${info.format}`,
      widthPx: info.width,
      heightPx: info.height,
    });
  } catch (error) {
    return unreadableBecause(error);
  }
}

function render(open: OpenPicture, maxEdgePx: number) {
  const shrink = Math.min(1, maxEdgePx / Math.max(open.width, open.height));
  const small = open.width * open.height * shrink * shrink <= LOSSLESS_UP_TO_PX;
  const lossless = small && open.mediaType !== 'image/jpeg';
  const upright = open
    .sharp()
    .removeAlpha()
    .toColourspace('srgb')
    .resize({ width: maxEdgePx, height: maxEdgePx, fit: 'inside', withoutEnlargement: true });
  const encoded = lossless ? upright.png() : upright.jpeg({ quality: 92, chromaSubsampling: '4:4:4' });
  return encoded.toBuffer({ resolveWithObject: true });
}

/**
 * A copy to be given away: upright, in full size, without metadata. A JPEG is written again as one, at a quality at which
 * no edge moves measurably; everything else without loss, 16 bits included.
 */
export async function sharePicture(bytes: Uint8Array): Promise<Outcome<ShownPicture>> {
  const opened = await openPicture(bytes);
  if (!opened.ok) return opened;
  try {
    const { mediaType, grey, sixteenBit, sharp } = opened.value;
    const space = grey ? (sixteenBit ? 'grey16' : 'b-w') : sixteenBit ? 'rgb16' : 'srgb';
    const plain = sharp().toColourspace(space);
    const encoded =
      mediaType === 'image/jpeg' ? plain.jpeg({ quality: 98, chromaSubsampling: '4:4:4' }) : plain.png();
    const { data, info } = await encoded.toBuffer({ resolveWithObject: true });
    return answer({
      bytes: new Uint8Array(data),
      mediaType: `image/${info.format}`,
      widthPx: info.width,
      heightPx: info.height,
    });
  } catch (error) {
    return unreadableBecause(error);
  }
}

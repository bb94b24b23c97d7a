import sharp from 'sharp';
import { guessFromName } from '../../../core/guess/file-name.ts';
import { guessFromLook, LOOK_EDGE_PX } from '../../../core/guess/look.ts';
import type { DecodedPicture } from '../../../core/index.ts';
import { answer } from '../../../shared/index.ts';
import type { Dated, Guess, Outcome, Warning } from '../../../shared/index.ts';
import { openPicture, unreadableBecause } from './open.ts';
import type { OpenPicture } from './open.ts';
import { takenFromExif, takenFromFileName } from './taken.ts';

export type Inspected = {
  readonly mediaType: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly taken: Dated | null;
  readonly warnings: Warning[];
  readonly preview: Uint8Array<ArrayBuffer> | null;
  readonly guess: Guess;
};

/**
 * Decodes the whole picture once, so that a picture which is accepted is known to be readable to its last line. (The
 * library's own statistics would let a wrong checksum over the head of a PNG pass.)
 */
export async function inspectPicture(bytes: Uint8Array, fileName: string): Promise<Outcome<Inspected>> {
  const opened = await openPicture(bytes);
  if (!opened.ok) return opened;
  const open = opened.value;
  let small: DecodedPicture;
  try {
    small = await lookCopy(open);
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
    preview: await previewOf(small).catch(() => null),
    guess: guessOf(small, fileName),
  });
}

/**
 * Every line is decoded on the way, so a picture that is cut short is noticed; a JPEG is shrunk while it is read, which
 * needs a fraction of the memory.
 */
async function lookCopy(open: OpenPicture): Promise<DecodedPicture> {
  const { data, info } = await open
    .sharp()
    .resize({ width: LOOK_EDGE_PX, height: LOOK_EDGE_PX, fit: 'inside', withoutEnlargement: true })
    .removeAlpha()
    .toColourspace('srgb')
    .raw({ depth: 'uchar' })
    .toBuffer({ resolveWithObject: true });
  const channels = info.channels as number;
  if (channels !== 1 && channels !== 3) throw new Error(`decoded to ${channels} channels`);
  return { width: info.width, height: info.height, channels, data: new Uint8Array(data) };
}

const PREVIEW_EDGE_PX = 240;

async function previewOf({
  width,
  height,
  channels,
  data,
}: DecodedPicture): Promise<Uint8Array<ArrayBuffer>> {
  const made = await sharp(data as Uint8Array, { raw: { width, height, channels } })
    .resize({ width: PREVIEW_EDGE_PX, height: PREVIEW_EDGE_PX, fit: 'inside', withoutEnlargement: true })
    .jpeg({ quality: 80 })
    .toBuffer();
  return new Uint8Array(made);
}

const VIEW_OF = { tip: 'front', cantilever: 'side', 'end-on': 'end-on' } as const;

/** What the name says comes first: a person wrote it. The look decides where the name is silent. */
function guessOf(small: DecodedPicture, fileName: string): Guess {
  const name = guessFromName(fileName);
  const look = guessFromLook(small);
  const shows = look.shows === null || look.shows === 'slide' ? null : VIEW_OF[look.shows];
  return {
    view:
      name.view !== null
        ? { value: name.view, from: 'file-name' }
        : shows === null
          ? null
          : { value: shows, from: 'picture' },
    light:
      name.light !== null
        ? { value: name.light, from: 'file-name' }
        : look.light === null
          ? null
          : { value: look.light, from: 'picture' },
    slide: look.shows === 'slide' || (name.slide && name.view === null && look.shows === null),
  };
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

import sharp from 'sharp';
import type { Metadata, Sharp } from 'sharp';
import { answer, refuse } from '../../../shared/index.ts';
import type { Outcome, Warning } from '../../../shared/index.ts';
import { mediaTypeOf, otherKindOf } from './sniff.ts';
import type { MediaType } from './sniff.ts';

/**
 * The only door through which picture bytes reach the decoder. Every loader of the library is blocked except the four
 * that are asked for, so a picture that lies about its kind reaches no other parser.
 */
sharp.block({ operation: ['VipsForeignLoad'] });
sharp.unblock({
  operation: ['VipsForeignLoadJpeg', 'VipsForeignLoadPng', 'VipsForeignLoadTiff', 'VipsForeignLoadWebp'],
});
// Every picture is decoded once, so a cache would only hold memory.
sharp.cache(false);

/** Our own cap; the largest microscope frames in use are about 20 MP. */
export const MAX_PIXELS = 64_000_000;
const MAX_EDGE = 30_000;
const DECODE_SECONDS = 30;

export type OpenPicture = {
  readonly sharp: () => Sharp;
  readonly metadata: Metadata;
  readonly mediaType: MediaType;
  /** Upright size, after the EXIF orientation. */
  readonly width: number;
  readonly height: number;
  readonly sixteenBit: boolean;
  readonly grey: boolean;
  readonly warnings: Warning[];
};

const unreadable = (message: string) => refuse('unreadable-image', message);

/** The library's own words are for programmers; these are for the person who took the picture. */
export function unreadableBecause(error: unknown): ReturnType<typeof unreadable> {
  const message = error instanceof Error ? error.message : String(error);
  if (/pixel limit|too large|dimensions exceed/i.test(message))
    return unreadable(`The picture has more than ${MAX_PIXELS / 1e6} million pixels. Save a smaller one.`);
  if (/premature|truncat|end of (file|stream|image)|unexpected end|read error|not enough/i.test(message))
    return unreadable('The picture is cut short. Copy it again from the camera or card.');
  if (/timeout/i.test(message))
    return unreadable('Decoding the picture took too long. Save it again as PNG or JPEG.');
  return unreadable(
    'The picture is damaged and cannot be decoded. Copy it again, or save it as PNG or JPEG.',
  );
}

function readerFor(bytes: Uint8Array): Sharp {
  return sharp(bytes, {
    failOn: 'warning',
    limitInputPixels: MAX_PIXELS,
    limitInputChannels: 4,
    page: 0,
    pages: 1,
    sequentialRead: true,
  }).timeout({ seconds: DECODE_SECONDS });
}

function depthProblem(metadata: Metadata): string | null {
  if (metadata.depth === 'uchar' || metadata.depth === 'ushort') return null;
  return 'The picture holds numbers that are no plain brightness values (neither 8 nor 16 bits). Save it as PNG.';
}

const GREY_SPACES = new Set<string>(['b-w', 'grey16']);
const RGB_SPACES = new Set<string>(['srgb', 'rgb', 'rgb16', 'scrgb', 'cmyk', 'lab', 'labs', 'hsv']);

function spaceProblem(metadata: Metadata): string | null {
  const space: string = metadata.space;
  if (GREY_SPACES.has(space) || RGB_SPACES.has(space)) return null;
  return `The picture's colours are stored in a way that is not read here (${space}). Save it as PNG.`;
}

/** Transparent parts have no brightness: filling them would invent a background. */
async function transparencyProblem(reader: Sharp, metadata: Metadata): Promise<string | null> {
  if (!metadata.hasAlpha) return null;
  const { isOpaque } = await reader.stats();
  return isOpaque ? null : 'The picture has transparent parts. Save it without transparency.';
}

function warningsOf(metadata: Metadata): Warning[] {
  const warnings: Warning[] = [];
  if ((metadata.pages ?? 1) > 1)
    warnings.push({
      code: 'several-pages',
      message: `The file holds ${metadata.pages} pictures; the first is used.`,
    });
  if (metadata.space === 'cmyk')
    warnings.push({
      code: 'print-colours',
      message: 'The picture is stored in printing colours (CMYK) and was converted.',
    });
  return warnings;
}

/** Looks at the bytes without decoding the whole picture; refuses with a sentence whatever is not understood. */
export async function openPicture(bytes: Uint8Array): Promise<Outcome<OpenPicture>> {
  if (bytes.byteLength === 0) return unreadable('The file is empty. Copy it again from the camera or card.');
  const mediaType = mediaTypeOf(bytes);
  if (mediaType === null) {
    const kind = otherKindOf(bytes) ?? 'not a picture of a known kind';
    return unreadable(`The file is ${kind}. JPEG, PNG, TIFF and WebP are read.`);
  }
  try {
    const metadata = await readerFor(bytes).metadata();
    if (`image/${metadata.format}` !== mediaType)
      return unreadable('The file is not what its first bytes say. Save it again as PNG or JPEG.');
    const { width, height } = metadata.autoOrient;
    if (width > MAX_EDGE || height > MAX_EDGE || width * height > MAX_PIXELS)
      return unreadableBecause(new Error('pixel limit'));
    const problem =
      depthProblem(metadata) ??
      spaceProblem(metadata) ??
      (await transparencyProblem(readerFor(bytes), metadata));
    if (problem !== null) return unreadable(problem);
    return answer({
      sharp: () => readerFor(bytes).autoOrient(),
      metadata,
      mediaType,
      width,
      height,
      sixteenBit: metadata.depth === 'ushort',
      grey: GREY_SPACES.has(metadata.space),
      warnings: warningsOf(metadata),
    });
  } catch (error) {
    return unreadableBecause(error);
  }
}

import sharp from 'sharp';
import { cantileverToPicture, renderCantilever } from '../../fixtures/render/cantilever.ts';
import { randomCantileverSpec } from '../../fixtures/render/cantilever-random.ts';
import { encodeCapture } from '../../fixtures/render/encode.ts';
import { randomFrontPair, type FrontPairTruth } from '../../fixtures/render/front-random.ts';

/** A rendered pair with known flats, as two files that a microscope could have written. */
export type PairFiles = {
  readonly baseline: PictureFile;
  readonly later: PictureFile;
  readonly truth: FrontPairTruth;
};
export type PictureFile = { readonly name: string; readonly mimeType: string; readonly buffer: Buffer };

async function asFile(name: string, picture: Parameters<typeof encodeCapture>[0]): Promise<PictureFile> {
  const bytes = Buffer.from(await encodeCapture(picture));
  const jpeg = picture.jpegQuality !== undefined;
  return {
    name: `${name}.${jpeg ? 'jpg' : 'png'}`,
    mimeType: jpeg ? 'image/jpeg' : 'image/png',
    buffer: bytes,
  };
}

export async function wornPair(seed: number): Promise<PairFiles> {
  const pair = randomFrontPair(seed, {
    easy: true,
    flats: { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 10, laterRightUm: 8 },
  });
  return {
    baseline: await asFile('new-tip', pair.baseline),
    later: await asFile('half-a-year', pair.later),
    truth: pair.truth,
  };
}

/** A pair whose later picture shows a chip beside the apex, and small flats. */
export async function chippedPair(seed: number): Promise<PairFiles> {
  const pair = randomFrontPair(seed, {
    easy: true,
    chip: true,
    flats: { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 8, laterRightUm: 7 },
  });
  return {
    baseline: await asFile('new-tip', pair.baseline),
    later: await asFile('knocked', pair.later),
    truth: pair.truth,
  };
}

export type BentFile = {
  readonly file: PictureFile;
  readonly umPerPx: number;
  readonly bendDeg: number;
  readonly size: { readonly width: number; readonly height: number };
  /** Near the root, at the bend, near the tip: pixels of the picture. */
  readonly axisPx: readonly [Spot, Spot, Spot];
};
type Spot = { readonly x: number; readonly y: number };

/** A cantilever with a knee of known angle, from the side. */
export async function bentCantilever(seed: number, bendDeg: number): Promise<BentFile> {
  const drawn = randomCantileverSpec(seed, { view: 'side', bendDeg, rotationDeg: 8 });
  const spec = { ...drawn, bendKind: 'knee' as const };
  const picture = renderCantilever(spec);
  const along = (share: number): Spot => cantileverToPicture(spec, { x: share * spec.lengthUm, y: 0 });
  const { x, y } = picture.truth.tipPx;
  return {
    file: await asFile('from-the-side', picture),
    umPerPx: spec.umPerPx,
    bendDeg: picture.truth.bendAngleDeg,
    size: { width: spec.widthPx, height: spec.heightPx },
    axisPx: [along(0.05), along(spec.bendAt), { x, y }],
  };
}

/** The same pair as a 12 megapixel camera would have written it. */
export async function largePair(
  seed: number,
): Promise<PairFiles & { readonly widthPx: readonly [number, number] }> {
  const pair = randomFrontPair(seed, {
    easy: true,
    flats: { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 10, laterRightUm: 8 },
  });
  const enlarged = async (name: string, picture: (typeof pair)['baseline']): Promise<PictureFile> => {
    const { width, height, channels, data } = picture;
    const buffer = await sharp(Buffer.from(data), { raw: { width, height, channels } })
      .resize(LARGE_PX, Math.round((height * LARGE_PX) / width), { fit: 'fill', kernel: 'cubic' })
      .jpeg({ quality: 92 })
      .toBuffer();
    return { name: `${name}.jpg`, mimeType: 'image/jpeg', buffer };
  };
  return {
    baseline: await enlarged('large-new', pair.baseline),
    later: await enlarged('large-later', pair.later),
    truth: pair.truth,
    // Before they were enlarged.
    widthPx: [pair.baseline.width, pair.later.width],
  };
}
export const LARGE_PX = 4000;

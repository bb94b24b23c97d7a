import sharp from 'sharp';
import { cantileverToPicture, renderCantilever } from '../../fixtures/render/cantilever.ts';
import { randomCantileverSpec } from '../../fixtures/render/cantilever-random.ts';
import { encodeCapture } from '../../fixtures/render/encode.ts';
import type { FrontPicture } from '../../fixtures/render/front.ts';
import { randomFrontPair, type FrontPairTruth } from '../../fixtures/render/front-random.ts';

/** A rendered pair with known flats, as two files that a microscope could have written. */
export type PairFiles = {
  readonly baseline: PictureFile;
  readonly later: PictureFile;
  readonly truth: FrontPairTruth;
};
export type PictureFile = { readonly name: string; readonly mimeType: string; readonly buffer: Buffer };

/** A rendered picture as a file, its ending after its kind. */
export async function asFile(
  name: string,
  picture: Parameters<typeof encodeCapture>[0],
): Promise<PictureFile> {
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

/**
 * A pair whose later picture has something dark beside the shank, so that its outline is no longer that of a tip on a
 * shank: the search refuses it, and a hand that lays it over the baseline gets it measured.
 */
export async function crowdedPair(
  seed: number,
): Promise<PairFiles & { readonly sizes: readonly [Extent, Extent] }> {
  const pair = randomFrontPair(seed, { easy: true, laterFlatsUm: [9, 12] });
  return {
    baseline: await asFile('new-tip', pair.baseline),
    later: await asFile('crowded', crowded(pair.later)),
    truth: pair.truth,
    sizes: [pair.baseline, pair.later],
  };
}
type Extent = { readonly width: number; readonly height: number };

export function crowded(picture: FrontPicture): FrontPicture {
  const { width, height, channels } = picture;
  const data = picture.data.slice();
  const { tipXPx, tipYPx, rotationDeg } = picture.truth.pose;
  const a = (rotationDeg * Math.PI) / 180;
  const from = (4 * picture.truth.tip.radiusUm) / picture.truth.umPerPx;
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const [dx, dy] = [x - tipXPx, y - tipYPx];
      // Tip down means that the shank is above.
      const along = -dx * Math.sin(a) - dy * Math.cos(a);
      const across = dx * Math.cos(a) - dy * Math.sin(a);
      if (along > from && across < 0)
        for (let c = 0; c < channels; c++) data[(y * width + x) * channels + c] = 12;
    }
  return { ...picture, data };
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

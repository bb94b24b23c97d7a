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

import type { DecodedPicture } from '../index.ts';

/** One plane, row-major, 0 = black, 1 = full scale of the file. Pixel centres on whole numbers. */
export type GreyImage = {
  readonly width: number;
  readonly height: number;
  readonly data: Float32Array;
  /** Part of the pixels at or within 1 % of full scale. */
  readonly clippedFraction: number;
};

/**
 * Grey plane of a decoded picture. Colour is averaged with the weights of ITU-R BT.601 (the luma that JPEG stores,
 * so that the chroma's coarser sampling does not enter). Throws a RangeError that names what does not fit.
 */
export function toGrey(picture: DecodedPicture): GreyImage {
  const { width, height, channels, data } = picture;
  const n = width * height;
  if (!(width > 0 && height > 0) || data.length !== n * channels)
    throw new RangeError(`picture: ${width} x ${height} x ${channels} does not fit ${data.length} samples`);
  const full = data instanceof Uint16Array ? 65535 : 255;
  const out = new Float32Array(n);
  const [red, green, blue] = [0.299 / full, 0.587 / full, 0.114 / full];
  let clipped = 0;
  for (let i = 0, j = 0; i < n; i++, j += channels) {
    const grey = channels === 1 ? data[j] / full : red * data[j] + green * data[j + 1] + blue * data[j + 2];
    out[i] = grey;
    if (grey >= 0.99) clipped++;
  }
  return { width, height, data: out, clippedFraction: clipped / n };
}

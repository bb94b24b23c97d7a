import type { DecodedPicture } from '../index.ts';
import type { Planes } from './planes.ts';

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
export function toGrey(picture: DecodedPicture, planes?: Planes): GreyImage {
  const { width, height, channels, data } = picture;
  const n = width * height;
  if (!(width > 0 && height > 0) || data.length !== n * channels)
    throw new RangeError(`picture: ${width} x ${height} x ${channels} does not fit ${data.length} samples`);
  const full = data instanceof Uint16Array ? 65535 : 255;
  const out = planes?.take(n) ?? new Float32Array(n);
  const clipped =
    channels === 3 ? luma(data, full, out) : full === 255 ? bytes(data, out) : plain(data, full, out);
  return { width, height, data: out, clippedFraction: clipped / n };
}

const CLIPPED = 0.99;
const BYTES = Float32Array.from({ length: 256 }, (_, i) => i / 255);

// One loop for each kind of file, each returning how many pixels are clipped: a loop that asks at every pixel takes four
// times as long.
function bytes(data: DecodedPicture['data'], out: Float32Array): number {
  let clipped = 0;
  for (let i = 0; i < out.length; i++) {
    const value = data[i];
    out[i] = BYTES[value];
    if (value > 252) clipped++;
  }
  return clipped;
}

function plain(data: DecodedPicture['data'], full: number, out: Float32Array): number {
  let clipped = 0;
  for (let i = 0; i < out.length; i++) {
    const grey = data[i] / full;
    out[i] = grey;
    if (grey >= CLIPPED) clipped++;
  }
  return clipped;
}

function luma(data: DecodedPicture['data'], full: number, out: Float32Array): number {
  const [red, green, blue] = [0.299 / full, 0.587 / full, 0.114 / full];
  let clipped = 0;
  for (let i = 0, j = 0; i < out.length; i++, j += 3) {
    const grey = red * data[j] + green * data[j + 1] + blue * data[j + 2];
    out[i] = grey;
    if (grey >= CLIPPED) clipped++;
  }
  return clipped;
}

/** Light of a value encoded by sRGB, both 0..1: IEC 61966-2-1 (from memory). */
export const lightOf = (v: number): number => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);

const LIGHT_STEPS = 4096;
let lights: Float32Array | null = null;

/** The picture with its values taken for sRGB and turned into light. */
export function toLight(image: GreyImage): GreyImage {
  const table = (lights ??= Float32Array.from({ length: LIGHT_STEPS + 2 }, (_, i) =>
    lightOf(i / LIGHT_STEPS),
  ));
  const { data } = image;
  const out = new Float32Array(data.length);
  for (let i = 0; i < data.length; i++) {
    const at = Math.min(1, Math.max(0, data[i])) * LIGHT_STEPS;
    const k = at | 0;
    out[i] = table[k] + (at - k) * (table[k + 1] - table[k]);
  }
  return { ...image, data: out };
}

import type { GreyImage } from '../image/grey.ts';
import type { DecodedPicture } from '../index.ts';
import { toGrey } from '../image/grey.ts';

/**
 * The picture as the facets are sought in: grey, and brought down to about half a micrometre per pixel where it is
 * finer, because a lens at that magnification shows nothing smaller. Pixel x of it lies at factor (x + 0.5) - 0.5.
 */
export type WorkingCopy = {
  readonly image: GreyImage;
  /** 1 where any channel of any pixel under it is at full scale. */
  readonly burnt: Uint8Array;
  readonly factor: number;
  readonly umPerPx: number;
};

const FINEST_UM = 0.45;
const FULL = 0.985;

export function workingCopy(picture: DecodedPicture, umPerPx: number): WorkingCopy {
  const grey = toGrey(picture);
  const factor = Math.max(1, Math.round(FINEST_UM / umPerPx));
  const width = Math.floor(grey.width / factor);
  const height = Math.floor(grey.height / factor);
  const { channels } = picture;
  const limit = FULL * (picture.data instanceof Uint16Array ? 65535 : 255);
  const data = new Float32Array(width * height);
  const burnt = new Uint8Array(width * height);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      let sum = 0;
      for (let j = 0; j < factor; j++)
        for (let i = 0; i < factor; i++) {
          const at = (y * factor + j) * grey.width + x * factor + i;
          sum += grey.data[at];
          for (let c = 0; c < channels; c++)
            if (picture.data[at * channels + c] >= limit) burnt[y * width + x] = 1;
        }
      data[y * width + x] = sum / (factor * factor);
    }
  return {
    image: { width, height, data, clippedFraction: grey.clippedFraction },
    burnt,
    factor,
    umPerPx: umPerPx * factor,
  };
}

/** Gaussian blur of a plane, edges repeated. */
export function softened(image: GreyImage, sigmaPx: number): Float32Array {
  const { width, height, data } = image;
  const reach = Math.max(1, Math.ceil(3 * sigmaPx));
  const taps = Float64Array.from({ length: 2 * reach + 1 }, (_, i) =>
    Math.exp(-0.5 * ((i - reach) / sigmaPx) ** 2),
  );
  const total = taps.reduce((a, b) => a + b, 0);
  for (let i = 0; i < taps.length; i++) taps[i] /= total;
  const half = new Float32Array(data.length);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      let sum = 0;
      for (let k = -reach; k <= reach; k++)
        sum += taps[k + reach] * data[y * width + Math.max(0, Math.min(width - 1, x + k))];
      half[y * width + x] = sum;
    }
  const out = new Float32Array(data.length);
  for (let y = 0; y < height; y++)
    for (let k = -reach; k <= reach; k++) {
      const from = Math.max(0, Math.min(height - 1, y + k)) * width;
      const tap = taps[k + reach];
      for (let x = 0; x < width; x++) out[y * width + x] += tap * half[from + x];
    }
  return out;
}

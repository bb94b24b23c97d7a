/**
 * Planes of live frames. A frame arrives as RGBA of 8 bits, rows from the top; everything that is measured on it is
 * its grey plane, 0 = black, 1 = full scale, pixel centres on whole numbers, as in core/image/grey.
 */
export type Plane = { readonly width: number; readonly height: number; readonly data: Float32Array };

/** Grey by the weights of ITU-R BT.601, as core/image/grey does for stored pictures. `into` saves an allocation. */
export function greyOfRgba(
  rgba: Uint8Array | Uint8ClampedArray,
  width: number,
  height: number,
  into?: Float32Array,
): Plane {
  const n = width * height;
  if (rgba.length < 4 * n)
    throw new RangeError(`greyOfRgba: ${width} x ${height} needs ${4 * n} bytes, got ${rgba.length}`);
  const data = into?.length === n ? into : new Float32Array(n);
  for (let i = 0, j = 0; i < n; i++, j += 4)
    data[i] = (0.299 * rgba[j] + 0.587 * rgba[j + 1] + 0.114 * rgba[j + 2]) / 255;
  return { width, height, data };
}

/** Mean of whole blocks of `factor` x `factor` pixels; a remainder at the right and lower border is left out. */
export function reduceBy(plane: Plane, factor: number): Plane {
  if (!Number.isInteger(factor) || factor < 1)
    throw new RangeError(`reduceBy: the factor must be a whole number from 1, got ${factor}`);
  if (factor === 1) return plane;
  const width = Math.floor(plane.width / factor);
  const height = Math.floor(plane.height / factor);
  const data = new Float32Array(width * height);
  const share = 1 / (factor * factor);
  for (let y = 0; y < height; y++)
    for (let dy = 0; dy < factor; dy++) {
      const row = (y * factor + dy) * plane.width;
      for (let x = 0; x < width; x++) {
        let sum = 0;
        for (let dx = 0; dx < factor; dx++) sum += plane.data[row + x * factor + dx];
        data[y * width + x] += sum * share;
      }
    }
  return { width, height, data };
}

/** Whole factor that brings the long edge down to about `edge` pixels, never up. */
export const factorFor = (width: number, height: number, edge: number): number =>
  Math.max(1, Math.round(Math.max(width, height) / edge));

/** Bilinear value; outside the plane the nearest pixel's. */
export function valueAt({ width, height, data }: Plane, x: number, y: number): number {
  const cx = Math.min(width - 1, Math.max(0, x));
  const cy = Math.min(height - 1, Math.max(0, y));
  const x0 = Math.min(width - 2, Math.floor(cx));
  const y0 = Math.min(height - 2, Math.floor(cy));
  const u = cx - x0;
  const v = cy - y0;
  const i = y0 * width + x0;
  const upper = data[i] + u * (data[i + 1] - data[i]);
  const lower = data[i + width] + u * (data[i + width + 1] - data[i + width]);
  return upper + v * (lower - upper);
}

/** Mean and mean squared step from pixel to pixel along both axes: how bright and how crisp a plane is. */
export function brightnessAndCrispness({ width, height, data }: Plane): { mean: number; crisp: number } {
  let sum = 0;
  let steps = 0;
  for (let y = 1; y < height; y++)
    for (let x = 1; x < width; x++) {
      const i = y * width + x;
      sum += data[i];
      steps += (data[i] - data[i - 1]) ** 2 + (data[i] - data[i - width]) ** 2;
    }
  const n = Math.max(1, (width - 1) * (height - 1));
  return { mean: sum / n, crisp: steps / n };
}

import { levelAt, type Background } from '../image/background.ts';
import type { GreyImage } from '../image/grey.ts';
import type { Band } from './capture-model.ts';
import { pickPixels, type Around } from './kernel/pick-pixels.ts';

/** Everything in a band around the outline; evenly thinned to at most `most` pixels. */
export function bandOf(
  image: GreyImage,
  background: Background,
  umPerPx: number,
  around: Around,
  most: number,
): Band {
  return pickPixels(image, umPerPx, around, (picked) => {
    const n = Math.min(picked.length, most);
    const stride = picked.length / n;
    const band = {
      n,
      x: new Float64Array(n),
      y: new Float64Array(n),
      grey: new Float64Array(n),
      field: new Float64Array(n),
      index: new Int32Array(n),
    };
    for (let k = 0; k < n; k++) {
      const index = picked[Math.floor(k * stride)];
      const i = index % image.width;
      const j = (index - i) / image.width;
      band.x[k] = i * umPerPx;
      band.y[k] = j * umPerPx;
      band.grey[k] = image.data[index];
      band.field[k] = levelAt(background.surface, i, j);
      band.index[k] = index;
    }
    return band;
  });
}

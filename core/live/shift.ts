import { valueAt, type Plane } from './planes.ts';

/**
 * How far a picture moved, by least squares on its own gradients (Lucas and Kanade 1981, iterated): the shift that
 * makes `moved(x + dx, y + dy)` equal to `still(x, y)` up to a constant difference of brightness. Pixels of the planes
 * handed over. Good for a few pixels; `left` is the root mean square of what remains, grey 0..1.
 */
export type Shift = { readonly dx: number; readonly dy: number; readonly left: number };

const ITERATIONS = 6;

export function shiftBetween(still: Plane, moved: Plane): Shift {
  if (still.width !== moved.width || still.height !== moved.height)
    throw new RangeError('shiftBetween: the planes differ in size');
  const { width, height, data } = still;
  const border = Math.min(8, Math.floor(Math.min(width, height) / 8));
  let dx = 0;
  let dy = 0;
  let left = 0;
  for (let round = 0; round < ITERATIONS; round++) {
    // normal equations of gx, gy and 1
    let n = 0;
    let sx = 0;
    let sy = 0;
    let sr = 0;
    let xx = 0;
    let xy = 0;
    let yy = 0;
    let xr = 0;
    let yr = 0;
    let rr = 0;
    for (let y = border; y < height - border; y++)
      for (let x = border; x < width - border; x++) {
        const i = y * width + x;
        const gx = (data[i + 1] - data[i - 1]) / 2;
        const gy = (data[i + width] - data[i - width]) / 2;
        const r = (round === 0 ? moved.data[i] : valueAt(moved, x + dx, y + dy)) - data[i];
        n++;
        sx += gx;
        sy += gy;
        sr += r;
        xx += gx * gx;
        xy += gx * gy;
        yy += gy * gy;
        xr += gx * r;
        yr += gy * r;
        rr += r * r;
      }
    const cxx = xx - (sx * sx) / n;
    const cxy = xy - (sx * sy) / n;
    const cyy = yy - (sy * sy) / n;
    const cxr = xr - (sx * sr) / n;
    const cyr = yr - (sy * sr) / n;
    left = Math.sqrt(Math.max(0, rr / n - (sr / n) ** 2));
    const det = cxx * cyy - cxy * cxy;
    if (!(det > 1e-12 * n * n)) break;
    const stepX = (cyy * cxr - cxy * cyr) / det;
    const stepY = (cxx * cyr - cxy * cxr) / det;
    dx -= stepX;
    dy -= stepY;
    if (Math.hypot(stepX, stepY) < 0.005) break;
  }
  return { dx, dy, left };
}

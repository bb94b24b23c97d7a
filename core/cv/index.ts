import pkg from 'opencv-wasm';
import type { Mat } from 'opencv-wasm';

/**
 * The only door to opencv-wasm. Nothing of it leaves: typed arrays in, plain values out, every Mat released at the
 * end of its scope (its heap only grows and never collects). C++ errors arrive as a number and leave as an Error.
 */
const cv = pkg.cv;

/** Runs `work` with a keeper for everything that must be deleted, also when it throws. */
function scoped<T>(work: (keep: <M extends { delete(): void }>(thing: M) => M) => T): T {
  const kept: { delete(): void }[] = [];
  try {
    return work((thing) => {
      kept.push(thing);
      return thing;
    });
  } catch (error) {
    if (typeof error === 'number')
      throw new Error(`image library: ${cv.exceptionFromPtr(error).msg}`, { cause: error });
    throw error;
  } finally {
    for (const thing of kept) thing.delete();
  }
}

function matOf(data: Float32Array | Uint8Array, width: number, height: number): Mat {
  const isFloat = data instanceof Float32Array;
  const mat = new cv.Mat(height, width, isFloat ? cv.CV_32FC1 : cv.CV_8UC1);
  if (isFloat) mat.data32F.set(data);
  else mat.data.set(data);
  return mat;
}

/** Gaussian blur of a float plane, sigma in pixels, borders replicated. */
export function blurPlane(data: Float32Array, width: number, height: number, sigmaPx: number): Float32Array {
  if (sigmaPx <= 0) return data.slice();
  return scoped((keep) => {
    const source = keep(matOf(data, width, height));
    const target = keep(new cv.Mat());
    cv.GaussianBlur(source, target, new cv.Size(0, 0), sigmaPx, sigmaPx, cv.BORDER_REPLICATE);
    return target.data32F.slice();
  });
}

/** Area-averaged reduction to `toWidth` x `toHeight`, blurred as by `blurPlane`. */
export function reduceAndBlur(
  data: Float32Array,
  width: number,
  height: number,
  toWidth: number,
  toHeight: number,
  sigmaPx: number,
): Float32Array {
  return scoped((keep) => {
    const source = keep(matOf(data, width, height));
    const small = keep(new cv.Mat());
    cv.resize(source, small, new cv.Size(toWidth, toHeight), 0, 0, cv.INTER_AREA);
    cv.GaussianBlur(small, small, new cv.Size(0, 0), sigmaPx, sigmaPx, cv.BORDER_REPLICATE);
    return small.data32F.slice();
  });
}

export type Blob = { readonly areaPx: number; readonly x: Float64Array; readonly y: Float64Array };

/**
 * Outer contours of the connected parts of a 0/255 mask after closing gaps up to `closePx` and removing what is
 * thinner than `openPx` (0: nothing), largest area first.
 * Holes are filled by taking outer contours only. Points are whole pixels of the part's rim, in order.
 */
export function outerContours(
  mask: Uint8Array,
  width: number,
  height: number,
  closePx: number,
  openPx: number,
  most: number,
): Blob[] {
  return scoped((keep) => {
    const source = keep(matOf(mask, width, height));
    const closed = keep(new cv.Mat());
    const anchor = new cv.Point(-1, -1);
    // Many small steps instead of one large kernel: the same reach (two pixels a step), a fraction of the work.
    const step = keep(cv.getStructuringElement(cv.MORPH_ELLIPSE, new cv.Size(5, 5)));
    // closing fills notches, for which a square (separable, fast) is as good; opening rounds a tip, which must not depend
    // on how the tip is turned
    const square = keep(cv.getStructuringElement(cv.MORPH_RECT, new cv.Size(5, 5)));
    const steps = (px: number): number => Math.max(1, Math.round(px / 4));
    cv.morphologyEx(source, closed, cv.MORPH_CLOSE, square, anchor, steps(closePx), cv.BORDER_CONSTANT);
    if (openPx > 0)
      cv.morphologyEx(closed, closed, cv.MORPH_OPEN, step, anchor, steps(openPx), cv.BORDER_REPLICATE);
    const contours = keep(new cv.MatVector());
    const hierarchy = keep(new cv.Mat());
    cv.findContours(closed, contours, hierarchy, cv.RETR_EXTERNAL, cv.CHAIN_APPROX_NONE);
    const found: Blob[] = [];
    for (let i = 0; i < contours.size(); i++) {
      const contour = keep(contours.get(i));
      const points = contour.data32S;
      const n = contour.rows;
      if (n < 40) continue;
      const x = new Float64Array(n);
      const y = new Float64Array(n);
      for (let k = 0; k < n; k++) {
        x[k] = points[2 * k];
        y[k] = points[2 * k + 1];
      }
      found.push({ areaPx: cv.contourArea(contour), x, y });
    }
    return found.sort((a, b) => b.areaPx - a.areaPx).slice(0, most);
  });
}

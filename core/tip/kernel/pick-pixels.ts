import { arena } from './arena.ts';
import { NUMBERS, writePose, writeShape } from './numbers.ts';

/** A band around an outline: `outside` and `inside` um away from it, flanks up to `reach` um along it. */
export type Around = {
  readonly shape: ArrayLike<number>;
  readonly pose: { readonly x: number; readonly y: number; readonly rotation: number };
  readonly outside: number;
  readonly inside: number;
  readonly reach: number;
};

const F64 = 8;
const I32 = 4;
/** Where so many pixels are looked at, those in the band are counted before there is room made for them. */
const LARGE = 1_000_000;

/** `take` is given the indices of all pixels in the band, row by row; the list is gone when it has ended. */
export function pickPixels<T>(
  { width, height }: { readonly width: number; readonly height: number },
  umPerPx: number,
  { shape, pose, outside, inside, reach }: Around,
  take: (picked: Int32Array) => T,
): T {
  const r = reach + shape[0] + outside;
  const x0 = Math.max(0, Math.floor((pose.x - r) / umPerPx));
  const x1 = Math.min(width - 1, Math.ceil((pose.x + r) / umPerPx));
  const y0 = Math.max(0, Math.floor((pose.y - r) / umPerPx));
  const y1 = Math.min(height - 1, Math.ceil((pose.y + r) / umPerPx));
  const own = arena();
  return own.inside(() => {
    const numbers = own.take(NUMBERS * F64);
    const list = own.float64(numbers, NUMBERS);
    writePose(list, pose.x, pose.y, pose.rotation);
    writeShape(list, shape);
    const pick = (to: number): number =>
      own.code.pick(numbers, umPerPx, width, x0, x1, y0, y1, outside, inside, reach, to);
    const looked = Math.max(0, x1 - x0 + 1) * Math.max(0, y1 - y0 + 1);
    // the arena never gets smaller
    const picked = own.take((looked > LARGE ? pick(0) : looked) * I32);
    return take(own.int32(picked, pick(picked)));
  });
}

import { lending, type Lender } from './lending.ts';

/**
 * Planes for one measurement, which the next one uses again. A new plane of a megapixel costs the system as much as filling it
 * does, and a round of the garbage collector every other pair.
 */
export type Planes = Lender<Float32Array>;

/** As many as a pair takes, of frames up to 6 MP. */
export const withPlanes = lending((length) => new Float32Array(length), { most: 2, longest: 6_000_000 });

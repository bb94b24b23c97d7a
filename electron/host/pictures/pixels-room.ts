import { lending, type Lender } from '../../../core/image/lending.ts';

/**
 * Room for the pixels of a pair. What the decoder hands out was allocated by one of its threads and is given back when the
 * garbage collector comes round; held through a measurement it outlives the young heap, and each of the threads keeps memory
 * for several pictures. Copied here at once, it is gone at the next small round.
 */
export type PixelsRoom = Lender<Uint8Array<ArrayBuffer>>;

/** Two pictures of up to 6 MP in colour. */
export const withPixelsRoom = lending((length) => new Uint8Array(length), { most: 2, longest: 18_000_000 });

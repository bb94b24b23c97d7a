/**
 * Planes for one measurement, which the next one uses again. A new plane of a megapixel costs the system as much as filling it
 * does, and a round of the garbage collector every other pair.
 */
export type Planes = {
  /** `length` numbers, of any value. */
  readonly take: (length: number) => Float32Array;
};

/** What a pair takes; and none larger than a frame of 6 MP, so that a huge picture does not stay in memory. */
const MOST_SPARE = 2;
const LARGEST = 6_000_000;
const spare: Float32Array[] = [];

/** Whoever is called keeps none of the planes: they are somebody else's as soon as it has ended. */
export async function withPlanes<R>(run: (planes: Planes) => Promise<R>): Promise<R> {
  const lent: Float32Array[] = [];
  const take = (length: number): Float32Array => {
    const at = spare.findIndex((plane) => plane.length === length);
    const [plane] = at < 0 ? [new Float32Array(length)] : spare.splice(at, 1);
    lent.push(plane);
    return plane;
  };
  try {
    return await run({ take });
  } finally {
    spare.unshift(...lent.filter((plane) => plane.length <= LARGEST));
    spare.splice(MOST_SPARE);
  }
}

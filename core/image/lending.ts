/** Buffers for one piece of work, which the next one uses again. */
export type Lender<T> = {
  /** `length` numbers, of any value. */
  readonly take: (length: number) => T;
};

/** What is kept for the next one: so many buffers, and none longer than `longest`, so that a huge one does not stay. */
export type Kept = { readonly most: number; readonly longest: number };

/** Whoever is called keeps none of the buffers: they are somebody else's as soon as it has ended. */
export function lending<T extends { readonly length: number }>(
  make: (length: number) => T,
  { most, longest }: Kept,
): <R>(run: (lender: Lender<T>) => Promise<R>) => Promise<R> {
  const spare: T[] = [];
  return async (run) => {
    const lent: T[] = [];
    const take = (length: number): T => {
      const at = spare.findIndex((one) => one.length === length);
      const [one] = at < 0 ? [make(length)] : spare.splice(at, 1);
      lent.push(one);
      return one;
    };
    try {
      return await run({ take });
    } finally {
      spare.unshift(...lent.filter((one) => one.length <= longest));
      spare.splice(most);
    }
  };
}

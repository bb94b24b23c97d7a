/**
 * A list told by what became different of one that the other side holds already: so many of its first and of its last
 * members stay, and what stands between them is new. One more entry among twenty thousand is one member.
 */
export type Piece<T> = { readonly first: number; readonly last: number; readonly between: readonly T[] };

/** Members are the same when they are the same object: whoever reads rows again only where they changed keeps the rest. */
export function pieceOf<T>(old: readonly T[], now: readonly T[]): Piece<T> {
  const most = Math.min(old.length, now.length);
  let first = 0;
  while (first < most && old[first] === now[first]) first++;
  let last = 0;
  while (last < most - first && old[old.length - 1 - last] === now[now.length - 1 - last]) last++;
  return { first, last, between: now.slice(first, now.length - last) };
}

/** The list that {@link pieceOf} told; the old one itself where nothing differs. */
export function joined<T>(old: readonly T[], { first, last, between }: Piece<T>): T[] {
  if (first === old.length && between.length === 0) return old as T[];
  return [...old.slice(0, first), ...between, ...old.slice(old.length - last)];
}

import { describe, expect, it } from 'vitest';
import { joined, pieceOf } from '../../shared/index.ts';

const [a, b, c, d] = ['a', 'b', 'c', 'd'].map((name) => ({ name }));

describe('a list in pieces', () => {
  it.each([
    ['one more at the end', [a, b], [a, b, c], 1],
    ['one more in the middle', [a, c], [a, b, c], 1],
    ['one less', [a, b, c], [a, c], 0],
    ['one in the place of another', [a, b, c], [a, d, c], 1],
    ['nothing the same', [a, b], [c, d], 2],
    ['nothing at first', [], [a], 1],
    ['nothing any more', [a, b], [], 0],
    ['the same member twice', [a, a], [a, a, a], 1],
    ['another order', [a, b, c], [c, b, a], 3],
  ])('is whole again: %s', (_, old, now, between) => {
    const piece = pieceOf(old, now);
    expect(joined(old, piece)).toEqual(now);
    expect(piece.between).toHaveLength(between);
  });

  it('is the old one where nothing differs', () => {
    const old = [a, b];
    expect(joined(old, pieceOf(old, [a, b]))).toBe(old);
  });
});

import { describe, expect, it } from 'vitest';
import { parseLine } from '../../renderer/bench/look-cantilever.tsx';

describe('the line of a skew, typed', () => {
  it('is an angle, with comma or point, or two places', () => {
    expect(parseLine('2,5')).toEqual({ angleDeg: 2.5 });
    expect(parseLine(' -1.5 ')).toEqual({ angleDeg: -1.5 });
    expect(parseLine('100 420 900 433')).toEqual({ from: [100, 420], to: [900, 433] });
    expect(parseLine('100; 420; 900,5; 433')).toEqual({ from: [100, 420], to: [900.5, 433] });
  });

  it('is nothing else', () => {
    for (const text of ['', 'level', '1 2', '1 2 3', '5 5 5 6', '400', '1 2 3 4 5'])
      expect(parseLine(text), text).toBeNull();
  });
});

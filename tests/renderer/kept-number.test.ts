import { describe, expect, it } from 'vitest';
import { notTaken, takenNumber } from '../../renderer/ui/kept-number.tsx';

describe('a setting that is a number', () => {
  const range = { min: 0.5, max: 120, symbol: 'min' };
  const said = (text: string) => notTaken(text, 22, range)?.replaceAll('\u00a0', ' ') ?? null;

  it.each([
    ['abc', 'Write one number, such as 3 or 2,5. Until then it stays at 22 min.'],
    ['', 'Write one number, such as 3 or 2,5. Until then it stays at 22 min.'],
    ['121', '120 min at the most. Until then it stays at 22 min.'],
    ['0,4', '0.5 min at the least. Until then it stays at 22 min.'],
    ['-3', '0.5 min at the least. Until then it stays at 22 min.'],
  ])('says why %j is not taken, and what counts', (text, sentence) => {
    expect(takenNumber(text, range)).toBeNull();
    expect(said(text)).toBe(sentence);
  });

  it('names numbers without a unit plainly', () => {
    expect(notTaken('60', 4.25, { min: 0.5, max: 50, symbol: '' })).toBe(
      '50 at the most. Until then it stays at 4.25.',
    );
  });

  it.each([
    ['0.5', 0.5],
    ['20,5', 20.5],
    ['120', 120],
  ])('takes %j', (text, value) => {
    expect(takenNumber(text, range)).toBe(value);
    expect(said(text)).toBeNull();
  });
});

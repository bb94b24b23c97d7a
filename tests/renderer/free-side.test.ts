import { describe, expect, it } from 'vitest';
import { freeSide, type Box } from '../../renderer/ui/free-side.ts';

const box = (left: number, top: number, width: number, height: number): Box => ({
  left,
  top,
  right: left + width,
  bottom: top + height,
});
const LIST = box(16, 780, 380, 60);

describe('where messages stand', () => {
  it.each([
    ['nothing in the way', [], 'left'],
    ['a button at the left', [box(20, 800, 90, 34)], 'middle'],
    ['buttons at the left and in the middle', [box(20, 800, 90, 34), box(600, 800, 90, 34)], 'right'],
    ['a long row of them', [box(20, 800, 1240, 34)], 'left'],
    ['a button above and one beside', [box(20, 700, 90, 80), box(396, 800, 60, 34)], 'left'],
  ] as const)('%s', (_what, controls, side) => {
    expect(freeSide(LIST, controls, 1280)).toBe(side);
  });

  it('at the right without a control of the middle that it only touches', () => {
    // From 450 to 830 in the middle, from 884 at the right.
    expect(freeSide(LIST, [box(16, 780, 10, 10), box(829, 780, 55, 60)], 1280)).toBe('right');
  });
});

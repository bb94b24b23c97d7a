import { describe, expect, it } from 'vitest';
import { freePlace, type Box } from '../../renderer/ui/free-side.ts';

const box = (left: number, top: number, width: number, height: number): Box => ({
  left,
  top,
  right: left + width,
  bottom: top + height,
});
/** 380 x 60 at the foot of 1280 x 860: from 784 to 844; at its head from 64 to 124. */
const ROOM = { width: 380, height: 60, windowWidth: 1280, windowHeight: 860, footPx: 16 };
const place = (controls: readonly Box[], words: readonly Box[] = []): string => {
  const { edge, side } = freePlace(ROOM, controls, words);
  return `${edge} ${side}`;
};
const ROW = box(20, 800, 1240, 34);

describe('where messages stand', () => {
  it.each([
    ['nothing in the way', [], 'foot left'],
    ['a button at the left', [box(20, 800, 90, 34)], 'foot middle'],
    ['buttons at the left and in the middle', [box(20, 800, 90, 34), box(600, 800, 90, 34)], 'foot right'],
    ['a long row of them', [ROW], 'head left'],
    ['a button above and one beside', [box(20, 700, 90, 80), box(396, 800, 60, 34)], 'foot left'],
  ] as const)('%s', (_what, controls, where) => {
    expect(place(controls)).toBe(where);
  });

  it('at the right without a control of the middle that it only touches', () => {
    // From 450 to 830 in the middle, from 884 at the right.
    expect(place([box(16, 780, 10, 10), box(829, 780, 55, 60)])).toBe('foot right');
  });

  it('beside cautions at the foot and beside the heading at the head', () => {
    const cautions = box(24, 760, 832, 120);
    expect(place([], [cautions])).toBe('foot right');
    const heading = box(24, 70, 300, 40);
    expect(place([ROW], [heading])).toBe('head middle');
  });

  it('at the foot again where nothing is free, over as little as can be and over words last', () => {
    const head = box(0, 55, 1280, 80);
    // The stage is large: a corner of it is less than a whole button.
    const stage = box(24, 300, 832, 560);
    expect(place([stage, box(900, 800, 90, 34), head])).toBe('foot left');
    expect(place([ROW, head], [box(24, 790, 800, 60)])).toBe('foot right');
  });
});

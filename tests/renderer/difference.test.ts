import { describe, expect, it } from 'vitest';
import { differenceWords, fullColourLevels, GAINS, stretchSteps } from '../../renderer/bench/difference.ts';

/** The canvas's own blending of opaque colours (Compositing and Blending, level 1), on levels of 255 as a canvas keeps them. */
const BLENDS: Readonly<Record<string, (under: number, over: number) => number>> = {
  'color-burn': (under, over) => (under === 1 ? 1 : over === 0 ? 0 : 1 - Math.min(1, (1 - under) / over)),
  'color-dodge': (under, over) => (under === 0 ? 0 : over === 1 ? 1 : Math.min(1, under / (1 - over))),
  difference: (under, over) => Math.abs(under - over),
};
const level = (share: number): number => Math.round(share * 255);

/** Red, green and blue of the view where the pictures have these levels. */
function shown(baseline: number, later: number, gain: number): number[] {
  const half = level((255 - baseline + later) / 2 / 255);
  return [0, 1, 2].map((channel) =>
    stretchSteps(gain).reduce((under, [how, colour]) => {
      const over = Number(colour.match(/\d+/g)?.[channel]) / 255;
      return level(BLENDS[how](under / 255, over));
    }, half),
  );
}

describe.each(GAINS)('the difference view, stretched %d times', (gain) => {
  // What rounding to whole levels leaves after a stretch.
  const room = 3 + gain;

  it('is grey where both pictures agree, dark or bright', () => {
    for (const both of [0, 60, 128, 200, 255])
      for (const channel of shown(both, both, gain)) expect(Math.abs(channel - 127.5)).toBeLessThan(room);
  });

  it('is orange by as much as the later picture is brighter, blue by as much as it is darker', () => {
    for (const share of [0.25, 0.5, 0.9]) {
      const by = share * fullColourLevels(gain);
      const [red, green, blue] = shown(20, 20 + Math.min(by, 235), gain);
      const expected = (gain * Math.min(by, 235)) / 2;
      expect(Math.abs(red - 127.5 - expected)).toBeLessThan(2 * room);
      expect(Math.abs(127.5 - blue - expected)).toBeLessThan(2 * room);
      expect(green).toBeLessThan(red);
      const darker = shown(20 + Math.min(by, 235), 20, gain);
      expect(Math.abs(darker[2] - 127.5 - expected)).toBeLessThan(2 * room);
    }
  });

  it('has its full colour from the difference on that it states', () => {
    const most = Math.min(235, Math.ceil(1.15 * fullColourLevels(gain)));
    const [red, , blue] = shown(10, 10 + most, gain);
    expect([red, blue]).toEqual([255, 0]);
    expect(differenceWords(gain)).toContain(`from ${Math.round(255 / gain)} of 255 levels`);
  });
});

import { describe, expect, it } from 'vitest';
import { rotationText, scaleText, shiftText } from '../../../renderer/camera/pose-panel.tsx';
import type { LiveReading } from '../../../renderer/camera/protocol.ts';
import { createWatcher, HOLD_MS, judgePose } from '../../../renderer/camera/release.ts';

type Read = Extract<LiveReading, { ok: true }>;
const POSE = {
  rotationDeg: 0.2,
  shiftXPx: 3,
  shiftYPx: -4,
  scale: 1.002,
  scaleFrom: 'shank' as const,
  view: 0.01,
};
const OUTLINE = { xPx: 320, yPx: 240, rotationDeg: 3, radiusPx: 18, halfDeg: 27, lengthPx: 80 };
const reading = (at: number, part: Partial<Read> = {}): Read => ({
  ok: true,
  at,
  outline: OUTLINE,
  edgePx: 4,
  clipped: 0,
  black: 0,
  noise: 0.01,
  lit: false,
  limitPx: 6,
  pose: POSE,
  took: 5,
  ...part,
});

describe('the moment', () => {
  it('comes when pose, focus and stillness have held for a second without a break', () => {
    const watcher = createWatcher();
    const at = (t: number, part?: Partial<Read>) => watcher.see(reading(t, part), 640);
    // The first reading has nothing to be still against.
    expect(at(0)).toMatchObject({ still: false, now: false });
    expect(at(100)).toMatchObject({ now: true, release: false });
    expect(at(100 + HOLD_MS - 50)).toMatchObject({ release: false });
    expect(at(100 + HOLD_MS)).toMatchObject({ release: true });
    // One reading out of place, and the second begins again.
    expect(at(1200, { pose: { ...POSE, rotationDeg: 1.4 } })).toMatchObject({ now: false, since: null });
    expect(at(1300)).toMatchObject({ now: true, since: 1300, release: false });
  });

  it('needs a still part, and knows a slow drift', () => {
    const watcher = createWatcher();
    for (let i = 0; i < 20; i++) {
      const outline = { ...OUTLINE, xPx: 320 + i };
      expect(watcher.see(reading(i * 100, { outline }), 640).still).toBe(false);
    }
  });

  it('needs focus: as sharp as it got here in the last half minute', () => {
    const watcher = createWatcher();
    const focus = (t: number, edgePx: number | null) => watcher.see(reading(t, { edgePx }), 640).focus;
    for (let i = 0; i < 40; i++) focus(i * 100, 4);
    expect(focus(4100, 4.4)).toBe(true);
    expect(focus(4200, 4.6)).toBe(false);
    expect(focus(4300, null)).toBe(false);
    // Another part, another light: what was sharp long ago does not count.
    expect(focus(60_000, 6)).toBe(true);
  });

  it('is broken off by a reading that fails, and is never there without a baseline', () => {
    const watcher = createWatcher();
    watcher.see(reading(0), 640);
    watcher.see(reading(100), 640);
    expect(watcher.see({ ok: false, at: 200, sentence: 'x', took: 1 }, 640)).toMatchObject({ now: false });
    expect(watcher.see(reading(300), 640)).toMatchObject({ still: false });
    expect(watcher.see(reading(400, { pose: null }), 640)).toMatchObject({ now: false, pose: null });
  });

  it('judges each of the four by its own limit', () => {
    const judge = (part: object) => judgePose({ ...POSE, ...part }, 640);
    expect(judge({}).all).toBe(true);
    expect(judge({ rotationDeg: -1.1 })).toMatchObject({ rotation: false, all: false });
    expect(judge({ shiftXPx: 30, shiftYPx: 20 })).toMatchObject({ shift: false });
    expect(judge({ scale: 0.98 })).toMatchObject({ scale: false });
    expect(judge({ scale: 0.98, scaleFrom: 'radius' })).toMatchObject({ scale: true });
    expect(judge({ view: 0.2 })).toMatchObject({ view: false });
  });
});

describe('what the hand has to do', () => {
  it('is said the right way round', () => {
    const px = (value: number): string => `${value} px`;
    expect(rotationText(2.34)).toBe('2.3°, turn clockwise');
    expect(rotationText(-0.8)).toBe('0.8°, turn anticlockwise');
    expect(rotationText(0.01)).toBe('0.0°');
    expect(shiftText({ shiftXPx: 5, shiftYPx: -2 }, px)).toBe('move 5 px left, 2 px down');
    expect(shiftText({ shiftXPx: -5, shiftYPx: 2 }, px)).toBe('move 5 px right, 2 px up');
    expect(scaleText({ scale: 1.004, scaleFrom: 'shank' }).replaceAll('\u00a0', ' ')).toBe('+0.4 %');
    expect(scaleText({ scale: 0.98, scaleFrom: 'radius' }).replaceAll('\u00a0', ' ')).toBe(
      '−2.0 %, by the radius',
    );
  });
});

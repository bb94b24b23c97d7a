import { describe, expect, it } from 'vitest';
import { greyOfRgba } from '../../../core/live/planes.ts';
import { lookOf, poseDifference, type PoseSource } from '../../../core/live/pose.ts';
import { readLight } from '../../../core/live/reading.ts';
import { renderFront, type FrontSpec } from '../../../fixtures/render/front.ts';
import { liveSpec, rgbaOf } from './frames.ts';

const POSE = { tipXPx: 320, tipYPx: 300, rotationDeg: -8 };
const spec = (part: Partial<FrontSpec> = {}) =>
  liveSpec({ widthPx: 640, heightPx: 480, pose: POSE, seed: 21, ...part });

function source(from: FrontSpec, umPerPx: number | null = from.umPerPx): PoseSource {
  const picture = renderFront(from);
  const plane = greyOfRgba(rgbaOf(picture), picture.width, picture.height);
  const reading = readLight(plane);
  if (!reading.ok) throw new Error(reading.reason.message);
  const { width, height } = picture;
  return { width, height, reading: reading.value, umPerPx, look: lookOf(plane, reading.value) };
}

const baseline = source(spec());
const worn = { ...spec().tip, flats: { left: { widthUm: 11 }, right: { widthUm: 8 } } };

describe('the pose against the baseline', () => {
  it('reads nothing where nothing was changed but the noise', () => {
    const found = poseDifference(baseline, source(spec({ seed: 22 })));
    expect(Math.abs(found.rotationDeg)).toBeLessThan(0.1);
    expect(Math.hypot(found.shiftXPx, found.shiftYPx)).toBeLessThan(0.3);
    expect(found.scale).toBeCloseTo(1, 2);
    expect(found.view).toBeLessThan(0.02);
  });

  it.each([
    [3, 12, -7],
    [-2.5, -20, 9],
    [0.4, 2, 2],
    [171, 40, -60],
  ])('reads a turn of %f degrees and a shift of %f, %f px, worn or not', (turn, dx, dy) => {
    for (const tip of [spec().tip, worn]) {
      const pose = {
        tipXPx: POSE.tipXPx + dx,
        tipYPx: POSE.tipYPx + dy,
        rotationDeg: POSE.rotationDeg + turn,
      };
      const found = poseDifference(baseline, source(spec({ seed: 23, pose, tip })));
      expect(Math.abs(found.rotationDeg - turn)).toBeLessThan(0.12);
      expect(Math.abs(found.shiftXPx - dx)).toBeLessThan(0.5);
      expect(Math.abs(found.shiftYPx - dy)).toBeLessThan(0.5);
      expect(found.view).toBeLessThan(0.03);
    }
  });

  it('reads another magnification, and none when the scales account for it', () => {
    const closer = spec({ umPerPx: 0.9, seed: 24 });
    expect(poseDifference(baseline, source(closer, null)).scale).toBeCloseTo(1 / 0.9, 2);
    expect(poseDifference(baseline, source(closer)).scale).toBeCloseTo(1, 2);
  });

  it('sees another view: other flanks, or another play of light inside', () => {
    const turned = { ...spec().tip, halfAngleLeftDeg: 29, halfAngleRightDeg: 29 };
    expect(poseDifference(baseline, source(spec({ seed: 25, tip: turned }))).view).toBeGreaterThan(0.05);
    const ring = source(spec({ light: 'ring' }));
    const same = poseDifference(ring, source(spec({ light: 'ring', seed: 26 }))).view;
    const other = poseDifference(ring, source(spec({ light: 'ring', seed: 26, interiorSeed: 77 }))).view;
    expect(other).toBeGreaterThan(2 * same);
  });
});

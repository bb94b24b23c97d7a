import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  imageToTip,
  tipToImage,
  type BaselinePoint,
  type LaterPoint,
  type Pose,
} from '../../shared/index.ts';

const upright: Pose = { xPx: 100, yPx: 50, rotationDeg: 0, umPerPx: 2 };
const turned = (rotationDeg: number): Pose => ({ ...upright, rotationDeg });

describe('tip frame and image frame', () => {
  it('puts the origin of the tip frame at the pose, whatever the turn', () => {
    for (const angle of [0, 17, 90, 180, -90, 271])
      expect(tipToImage(turned(angle), { x: 0, y: 0 })).toEqual({ x: 100, y: 50 });
  });

  it('divides micrometres by um/px, x right and y down, when the tip points down', () => {
    expect(tipToImage(upright, { x: 10, y: 0 })).toEqual({ x: 105, y: 50 });
    expect(tipToImage(upright, { x: 0, y: 10 })).toEqual({ x: 100, y: 55 });
  });

  it.each([
    // The apex lies at (0, +R) in the tip frame. Anticlockwise on screen it goes down, right, up, left.
    { rotationDeg: 0, apex: { x: 100, y: 59 }, right: { x: 109, y: 50 } },
    { rotationDeg: 90, apex: { x: 109, y: 50 }, right: { x: 100, y: 41 } },
    { rotationDeg: 180, apex: { x: 100, y: 41 }, right: { x: 91, y: 50 } },
    { rotationDeg: -90, apex: { x: 91, y: 50 }, right: { x: 100, y: 59 } },
  ])('turns anticlockwise on screen: $rotationDeg degrees', ({ rotationDeg, apex, right }) => {
    const a = tipToImage(turned(rotationDeg), { x: 0, y: 18 });
    const r = tipToImage(turned(rotationDeg), { x: 18, y: 0 });
    expect([a.x, a.y]).toEqual([expect.closeTo(apex.x, 9), expect.closeTo(apex.y, 9)]);
    expect([r.x, r.y]).toEqual([expect.closeTo(right.x, 9), expect.closeTo(right.y, 9)]);
  });

  it('never mirrors: right of the sight line stays right of it', () => {
    fc.assert(
      fc.property(fc.double({ min: -720, max: 720, noNaN: true }), (rotationDeg) => {
        const o = tipToImage(turned(rotationDeg), { x: 0, y: 0 });
        const x = tipToImage(turned(rotationDeg), { x: 2, y: 0 });
        const y = tipToImage(turned(rotationDeg), { x: 0, y: 2 });
        const area = (x.x - o.x) * (y.y - o.y) - (x.y - o.y) * (y.x - o.x);
        // One square pixel, positive: x towards y is clockwise on screen, as in the picture itself.
        expect(area).toBeCloseTo(1, 9);
      }),
    );
  });

  it('comes back from the picture to the same micrometre', () => {
    const coordinate = fc.double({ min: -5000, max: 5000, noNaN: true });
    const pose = fc.record({
      xPx: coordinate,
      yPx: coordinate,
      rotationDeg: fc.double({ min: -360, max: 360, noNaN: true }),
      umPerPx: fc.double({ min: 0.05, max: 50, noNaN: true }),
    });
    fc.assert(
      fc.property(pose, coordinate, coordinate, (from, x, y) => {
        const back = imageToTip(from, tipToImage(from, { x, y }));
        // Doubles carry 15 to 16 digits; 1e5 px times 50 um/px leaves far less than a nanometre.
        expect(Math.hypot(back.x - x, back.y - y)).toBeLessThan(1e-6);
        const there = tipToImage(from, imageToTip(from, { x, y }));
        expect(Math.hypot(there.x - x, there.y - y)).toBeLessThan(1e-6);
      }),
    );
  });

  it('keeps the frames apart for the compiler', () => {
    const inBaseline: BaselinePoint = { x: 1, y: 2 };
    // @ts-expect-error - a point of the baseline's picture is none of the later one's
    const inLater: LaterPoint = inBaseline;
    expect(inLater).toBe(inBaseline);
    // @ts-expect-error - a pixel is no point of the tip frame
    expect(tipToImage(upright, inBaseline).x).toBe(100.5);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  bitmapMatrix,
  contourAt,
  fitTip,
  fromStage,
  niceLength,
  panBy,
  polarDeg,
  toStage,
  zoomAbout,
  type StageView,
} from '../../renderer/bench/geometry.ts';
import { bottomingWidthUm, lossDb, meaningOf } from '../../renderer/bench/meaning.ts';
import { aroundTip, profileAt } from '../../renderer/bench/profile-plot.tsx';
import { profileCsv } from '../../renderer/bench/take-along.tsx';
import { tipToImage } from '../../shared/geometry.ts';

const view = fc.record({
  at: fc.record({
    x: fc.double({ min: -500, max: 500, noNaN: true }),
    y: fc.double({ min: -500, max: 500, noNaN: true }),
  }),
  zoom: fc.double({ min: 0.05, max: 100, noNaN: true }),
  turnDeg: fc.double({ min: -180, max: 180, noNaN: true }),
});
const point = fc.record({ x: fc.integer({ min: -800, max: 800 }), y: fc.integer({ min: -800, max: 800 }) });

describe('the stage', () => {
  it('goes to the tip frame and back', () => {
    fc.assert(
      fc.property(view, point, (v: StageView, p) => {
        const back = toStage(v, fromStage(v, p));
        expect(back.x).toBeCloseTo(p.x, 5);
        expect(back.y).toBeCloseTo(p.y, 5);
      }),
    );
  });

  it('keeps what lies under the pointer while zooming, and moves by the pixels asked for', () => {
    fc.assert(
      fc.property(view, point, (v: StageView, p) => {
        const under = fromStage(v, p);
        const after = toStage(zoomAbout(v, 1.3, p), under);
        expect(after.x).toBeCloseTo(p.x, 4);
        expect(after.y).toBeCloseTo(p.y, 4);
        const moved = toStage(panBy(v, 30, -12), under);
        expect(moved.x).toBeCloseTo(p.x + 30, 4);
        expect(moved.y).toBeCloseTo(p.y - 12, 4);
      }),
    );
  });

  it('draws a bitmap where its pose says, half a pixel between edges and centres, at any reduction', () => {
    const pose = { xPx: 320.25, yPx: 200.5, rotationDeg: 171, umPerPx: 1.02 };
    const v: StageView = { at: { x: 3, y: -10 }, zoom: 2.5, turnDeg: 12 };
    const middle = { x: 400, y: 300 };
    for (const reduction of [1, 0.5, 0.125]) {
      const [a, b, c, d, e, f] = bitmapMatrix(v, pose, reduction, middle);
      const tip = { x: -7, y: 11 };
      const image = tipToImage(pose, tip);
      const [u, w] = [(image.x + 0.5) * reduction, (image.y + 0.5) * reduction];
      const expected = toStage(v, tip);
      expect(a * u + c * w + e).toBeCloseTo(expected.x + middle.x, 8);
      expect(b * u + d * w + f).toBeCloseTo(expected.y + middle.y, 8);
    }
  });

  it('shows the tip pointing down in the middle of the stage', () => {
    const v = fitTip({ width: 900, height: 600 }, 18);
    expect(v.turnDeg).toBe(0);
    const apex = toStage(v, { x: 0, y: 18 });
    expect(apex.x).toBeCloseTo(0, 9);
    expect(apex.y).toBeGreaterThan(0);
    expect(apex.y).toBeLessThan(300);
  });

  it('counts polar angles as the report does: right 0, apex 90, left 180', () => {
    expect(polarDeg({ x: 1, y: 0 })).toBe(0);
    expect(polarDeg({ x: 0, y: 1 })).toBe(90);
    expect(polarDeg({ x: -1, y: 0 })).toBe(180);
    expect(polarDeg({ x: -1, y: -1 })).toBe(225);
    expect(polarDeg({ x: 1, y: -1 })).toBe(-45);
  });

  it('chooses lengths of 1, 2 or 5', () => {
    expect([0.3, 1, 7, 23, 480].map(niceLength)).toEqual([0.2, 1, 5, 20, 200]);
  });

  it('finds the outline at an angle', () => {
    const circle = Array.from({ length: 181 }, (_, i) => {
      const a = (i * Math.PI) / 180;
      return [18 * Math.cos(a), 18 * Math.sin(a)] as const;
    });
    const at = contourAt(circle, 45.5);
    expect(Math.hypot(at?.x ?? 0, at?.y ?? 0)).toBeCloseTo(18, 2);
    expect(contourAt(circle, 200)).toBeNull();
  });
});

describe('the profile', () => {
  it('runs once around the tip, from the right flank over the apex to the left', () => {
    const profile = aroundTip([
      [170, 0.5, 0.1],
      [-170, 0.2, 0.1],
      [90, 0, 0.1],
      [-30, 0.1, 0.1],
      [-80, 9, 0.1],
    ]);
    expect(profile.map(([angle]) => angle)).toEqual([-30, 90, 170, 190]);
  });

  it('is read between two of its points, and nowhere else', () => {
    const profile = [
      [10, 1, 0.2],
      [20, 3, 0.4],
    ] as const;
    expect(profileAt(profile, 15)).toEqual([2, expect.closeTo(0.3, 12)]);
    expect(profileAt(profile, 21)).toBeNull();
  });

  it('leaves as a table with its unit in the heading', () => {
    expect(profileCsv([[10, 1, 0.2]], 'um')).toBe(
      'angle_deg,recession [um],expanded_uncertainty [um]\r\n10,1,0.2\r\n',
    );
  });
});

describe('physical meaning', () => {
  it('gives the computed losses: -1, -3 and -6 dB at 5.5, 9.3 and 12.7 µm', () => {
    expect([5.5, 9.3, 12.7].map((length) => Math.round(lossDb(length) ?? NaN))).toEqual([-1, -3, -6]);
    expect(lossDb(21.06 / 2)).toBeCloseTo(-3.92, 2);
    expect(lossDb(21.06)).toBeNull();
  });

  it('gives the flat at which a tip of R 18 touches the bottom: 21.4 µm', () => {
    expect(bottomingWidthUm(18)).toBeCloseTo(21.4, 1);
    expect(bottomingWidthUm(5)).toBeNull();
  });

  it('says nothing where nothing was detected', () => {
    const radius = { value: 18, expanded: 0.4 };
    expect(meaningOf([{ width: { value: 3, expanded: 3 }, detected: false }], radius, 8)).toBeNull();
  });

  it('says how much is left until the bottom, with the doubt of radius and width', () => {
    const flat = { width: { value: 9, expanded: 0.6 }, detected: true };
    const meaning = meaningOf([flat], { value: 18, expanded: 0.4 }, null);
    expect(meaning?.bottom?.left.value).toBeCloseTo(21.4 - 9, 1);
    // R from 18.0 to 18.4 moves the bottoming width by 0.46 um.
    expect(meaning?.bottom?.at.expanded).toBeCloseTo(bottomingWidthUm(18.4)! - bottomingWidthUm(18)!, 9);
    expect(meaning?.bottom?.left.expanded).toBeGreaterThan(0.6);
  });

  it('takes the contact length from an end-on picture where one was measured, else assumes and says so', () => {
    const flats = [{ width: { value: 9, expanded: 0.6 }, detected: true }];
    const radius = { value: 18, expanded: 0.4 };
    const assumed = meaningOf(flats, radius, 8);
    expect(assumed?.measuredOn).toBeNull();
    expect(assumed?.contact.value).toBeCloseTo(9 * Math.sqrt(8 / 18), 9);
    const endOn = { along: { value: 12.7, expanded: 1 }, taken: '2024-05-01' };
    const seen = meaningOf(flats, radius, 8, endOn);
    expect(seen).toMatchObject({ measuredOn: '2024-05-01', contact: endOn.along });
    expect(seen?.loss?.at).toBeCloseTo(-6, 0);
    expect(seen?.loss?.least).toBeGreaterThan(seen?.loss?.at ?? 0);
    expect(seen?.loss?.most).toBeLessThan(seen?.loss?.at ?? 0);
  });
});

import { describe, expect, it } from 'vitest';
import {
  type MicroscopeSetting,
  pixelShape,
  scaleFromTwoPoints,
  scaleStillHolds,
} from '../../../core/calibration/index.ts';
import { gaussians } from '../fit/gaussians.ts';

describe('scale from two points', () => {
  it('is the distance over the pixels, with what a hand can do', () => {
    const scale = scaleFromTwoPoints({ x: 10, y: 20 }, { x: 310, y: 420 }, 1000);
    // 500 px; one pixel at each end: sqrt(2)/500 = 0.283 %.
    expect(scale.umPerPx).toBeCloseTo(2, 12);
    expect(scale.standardUmPerPx / 2).toBeCloseTo(Math.SQRT2 / 500, 12);
    expect(scale.expandedUmPerPx).toBeCloseTo(2 * scale.standardUmPerPx, 6);
  });

  it('covers the truth as often as it says', () => {
    const normal = gaussians(21);
    let inside = 0;
    const trials = 2000;
    for (let k = 0; k < trials; k++) {
      const hit = (x: number, y: number) => ({ x: x + 1.5 * normal(), y: y + 1.5 * normal() });
      const scale = scaleFromTwoPoints(hit(0, 0), hit(240, 100), 260 * (1 + 0.002 * normal()), {
        pointingPx: 1.5,
        distanceStandardUm: 0.002 * 260,
      });
      if (Math.abs(scale.umPerPx - 1) <= scale.expandedUmPerPx) inside++;
    }
    // 95.45 %, binomial deviation 0.47 %: three of them.
    expect(inside / trials).toBeGreaterThan(0.94);
    expect(inside / trials).toBeLessThan(0.969);
  });

  it('needs two points and a distance', () => {
    expect(() => scaleFromTwoPoints({ x: 1, y: 1 }, { x: 1, y: 1 }, 10)).toThrow(/two different points/);
    expect(() => scaleFromTwoPoints({ x: 1, y: 1 }, { x: 2, y: 1 }, -1)).toThrow(/distanceUm/);
  });
});

describe('carrying a scale over', () => {
  const made: MicroscopeSetting = {
    camera: 'invented cam A',
    frameWidthPx: 1600,
    frameHeightPx: 1200,
    zoom: 2,
    focus: 140,
  };

  it('holds only where nothing differs and everything is known', () => {
    expect(scaleStillHolds(made, { ...made })).toMatchObject({ verdict: 'holds', differs: [], unknown: [] });
    const changes: [Partial<MicroscopeSetting>, string][] = [
      [{ camera: 'invented cam B' }, 'camera'],
      [{ frameWidthPx: 1280 }, 'frame size'],
      [{ frameHeightPx: 960 }, 'frame size'],
      [{ zoom: 2.1 }, 'zoom'],
      [{ focus: 141 }, 'focus'],
    ];
    for (const [change, part] of changes) {
      const verdict = scaleStillHolds(made, { ...made, ...change });
      expect(verdict).toMatchObject({ verdict: 'differs', differs: [part] });
      expect(verdict.message).toContain(part);
    }
    expect(
      scaleStillHolds({ ...made, resizeMode: 'none' }, { ...made, resizeMode: 'crop-and-scale' }).differs,
    ).toEqual(['resize mode']);
  });

  it('does not claim to know what nobody wrote down', () => {
    const verdict = scaleStillHolds(made, { ...made, zoom: null, focus: null });
    expect(verdict).toMatchObject({ verdict: 'unknown', unknown: ['zoom', 'focus'] });
    expect(verdict.message).toContain('zoom and focus');
    expect(scaleStillHolds(made, { ...made, zoom: null, focus: 1 }).verdict).toBe('differs');
  });
});

describe('pixel shape', () => {
  it('solves the two directions exactly', () => {
    const [row, column] = [2, 2.1];
    const seen = (deg: number) => {
      const f = (deg * Math.PI) / 180;
      return {
        umPerPx: 1 / Math.hypot(Math.cos(f) / row, Math.sin(f) / column),
        standardUmPerPx: 0.0001,
        acrossDeg: deg,
      };
    };
    const shape = pixelShape(seen(20), seen(-80))!;
    expect(shape.rowUmPerPx).toBeCloseTo(row, 10);
    expect(shape.columnUmPerPx).toBeCloseTo(column, 10);
    expect(shape.aspect).toBeCloseTo(1.05, 10);
    expect(shape.square).toBe(false);
    expect(pixelShape(seen(45), seen(-45))).toBeNull();
  });
});

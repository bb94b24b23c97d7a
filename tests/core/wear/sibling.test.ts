import { describe, expect, it } from 'vitest';
import { USUAL_SPREAD_UM, withSiblingSpread } from '../../../core/wear/index.ts';
import { gaussians } from '../fit/gaussians.ts';
import { answered, flatPair, measured } from '../../renderer/reports.ts';

describe('an unworn sibling as the baseline', () => {
  const report = (left: number) => answered(flatPair(measured(left, 0.8)), flatPair(measured(6, 0.8)));

  it('puts the spread between specimens into every wall, threshold and limit, and says so', () => {
    const before = report(12);
    const after = withSiblingSpread(before);
    for (const side of ['left', 'right'] as const) {
      const [was, is] = [before.flats[side], after.flats[side]];
      expect(is.laterUm.value).toBe(was.laterUm.value);
      expect(is.laterUm.expanded).toBeGreaterThan(was.laterUm.expanded);
      expect(is.changeUm.expanded).toBeGreaterThan(was.changeUm.expanded);
      expect(is.decisionThresholdUm).toBeGreaterThan(was.decisionThresholdUm);
      expect(is.detectionLimitUm).toBeGreaterThan(is.decisionThresholdUm);
      expect(is.budget?.at(-1)?.source).toBe('spread between specimens');
      expect(is.detected).toBe(is.laterUm.value > is.decisionThresholdUm);
    }
    expect(after.warnings.at(-1)?.code).toBe('sibling-baseline');
    // A narrow flat is harder to tell than a wide one: widths grow with the root of their depth.
    expect(after.flats.right.laterUm.expanded).toBeGreaterThan(after.flats.left.laterUm.expanded);
  });

  it('changes nothing where specimens are all alike', () => {
    const before = report(12);
    const after = withSiblingSpread(before, 0);
    expect(after.flats.left.laterUm.expanded).toBeCloseTo(before.flats.left.laterUm.expanded, 9);
    expect(after.flats.left.decisionThresholdUm).toBeCloseTo(before.flats.left.decisionThresholdUm, 9);
  });

  it('covers the width that a sibling of another radius makes believe, in at least 90 of 100 pairs', () => {
    // Two circles in one cone of 48 degrees: the other radius moves the outline at the wall by (cos 45/sin h - 1) dR.
    const normal = gaussians(31);
    const [radius, width] = [18, 12];
    const recession = Math.SQRT1_2 / Math.sin((24 * Math.PI) / 180) - 1;
    let inside = 0;
    for (let k = 0; k < 400; k++) {
      const depth = width ** 2 / (8 * radius) + recession * USUAL_SPREAD_UM * normal();
      const seen = Math.sqrt(Math.max(0, 8 * radius * depth));
      const base = answered(flatPair(measured(seen, 0.01)), flatPair(measured(6, 0.8)));
      const tip = { ...base.tip, radiusUm: measured(radius, 0.4) };
      const { low, high } = withSiblingSpread({ ...base, tip }).flats.left.laterUm;
      if (width >= low! - 1e-9 && width <= high! + 1e-9) inside++;
    }
    expect(inside / 400).toBeGreaterThan(0.9);
  });
});

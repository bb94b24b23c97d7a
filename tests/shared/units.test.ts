import { describe, expect, it } from 'vitest';
import {
  degrees,
  priceText,
  radians,
  toDegrees,
  toRadians,
  um,
  UM_PER_MIL,
  umPerPx,
  type Um,
} from '../../shared/index.ts';

describe('units', () => {
  it('holds the mil as it is defined: a thousandth of an inch of 25.4 mm', () => {
    expect(UM_PER_MIL * 1000).toBe(25_400);
    // The 0.7 mil round tip of the trade is an 18 um one (17.78).
    expect(0.7 * UM_PER_MIL).toBeCloseTo(17.78, 10);
  });

  it('turns degrees into radians and back, in every quadrant', () => {
    expect(toRadians(degrees(180))).toBe(Math.PI);
    expect(toDegrees(radians(-Math.PI / 2))).toBe(-90);
    for (const angle of [-270, -180, -45, 0, 30, 135, 360, 725])
      expect(toDegrees(toRadians(degrees(angle)))).toBeCloseTo(angle, 10);
  });

  it('writes a price as people do', () => {
    expect(priceText(120, 'EUR')).toBe('120\u00a0EUR');
    expect(priceText(49.9, '')).toBe('49.90');
    expect(priceText(180.499999, 'EUR')).toBe('180.50\u00a0EUR');
    expect(priceText(1299.95, 'EUR')).toBe('1\u202f299.95\u00a0EUR');
    expect(priceText(0, 'EUR')).toBe('0\u00a0EUR');
  });

  it('keeps units apart for the compiler, and costs nothing at run time', () => {
    const takesUm = (value: Um): number => value;
    expect(takesUm(um(6))).toBe(6);
    // @ts-expect-error - a bare number carries no unit
    expect(takesUm(6)).toBe(6);
    // @ts-expect-error - a scale is no length
    expect(takesUm(umPerPx(6))).toBe(6);
    // @ts-expect-error - degrees are not radians
    expect(toRadians(radians(0))).toBe(0);
  });
});

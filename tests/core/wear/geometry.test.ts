import { describe, expect, it } from 'vitest';
import {
  contactForLoss,
  contactLoss,
  grooveKilometres,
  grooveLength,
  grooveSpeed,
  hoursOfSides,
  LP_INNER_RADIUS_MM,
  LP_OUTER_RADIUS_MM,
  LP_RPM,
  recordsIn,
  wavelength,
} from '../../../core/wear/groove.ts';
import {
  assumedContactLength,
  bottomContactWidth,
  contactSpan,
  flatArea,
  flatDepth,
  flatsMeetWidth,
  flatWidth,
  innerEdgeDistance,
  seenEndOn,
  WALL_LOAD_SHARE,
} from '../../../core/wear/tip-geometry.ts';

// All values from the project's table "Flats on a round tip in a 90 degree groove" and "Motion" (computed); tolerance is
// half a unit of the last printed digit.
describe('flats on a round tip', () => {
  it('contact span of R 25 is 35.4 um, and flats of R 15 meet at 21.2 um', () => {
    expect(contactSpan(25)).toBeCloseTo(35.4, 1);
    expect(flatsMeetWidth(15)).toBeCloseTo(21.2, 1);
  });

  it.each([
    [15, 8, 0.543],
    [18, 10, 0.708],
  ])('R %d, w %d: depth %d um', (radius, width, depth) => {
    expect(flatDepth(radius, width)).toBeCloseTo(depth, 3);
    expect(flatWidth(radius, flatDepth(radius, width))).toBeCloseTo(width, 10);
  });

  it.each([
    [0, 21.2],
    [4, 18.2],
    [8, 14.8],
    [12, 11.0],
  ])('R 15, w %d: inner edges %d um apart', (width, distance) => {
    expect(innerEdgeDistance(15, width)).toBeCloseTo(distance, 1);
  });

  it.each([
    [18, 6, 21.4],
    [15, 8, 15.1],
  ])('R %d in a bottom of %d um touches it at w %d um', (radius, bottom, width) => {
    expect(Math.abs(bottomContactWidth(radius, bottom) - width)).toBeLessThanOrEqual(0.051);
  });

  it('area agrees with summing up the depth', () => {
    const [radius, width] = [18, 12];
    const depth = flatDepth(radius, width);
    let sum = 0;
    const steps = 20000;
    for (let i = 0; i < steps; i++) {
      const x = ((i + 0.5) / steps - 0.5) * width;
      sum += (Math.sqrt(radius * radius - x * x) - (radius - depth)) * (width / steps);
    }
    expect(flatArea(radius, width)).toBeCloseTo(sum, 5);
  });

  it('shows 0.707 of its width end-on; the wall carries 0.707 of the force', () => {
    expect(seenEndOn(10)).toBeCloseTo(7.071, 3);
    expect(WALL_LOAD_SHARE).toBeCloseTo(Math.cos(Math.PI / 4), 12);
    expect(assumedContactLength(10, 18, 7.6)).toBeCloseTo(10 * Math.sqrt(7.6 / 18), 12);
  });

  it('refuses flats that do not fit', () => {
    expect(() => flatDepth(10, 21)).toThrow(/width from 0 to 20/);
    expect(() => flatWidth(10, -1)).toThrow(/depth/);
  });
});

describe('groove', () => {
  it('runs at 51.07 and 21.06 cm/s; 10 kHz is 21.06 um long inside', () => {
    expect(100 * grooveSpeed(LP_RPM, LP_OUTER_RADIUS_MM)).toBeCloseTo(51.07, 2);
    expect(100 * grooveSpeed(LP_RPM, LP_INNER_RADIUS_MM)).toBeCloseTo(21.06, 2);
    expect(wavelength(10_000, LP_RPM, LP_INNER_RADIUS_MM)).toBeCloseTo(21.06, 2);
  });

  it('a side of 22 minutes is 476 m (1,562 ft), an hour 1.30 km', () => {
    const metres = grooveLength(LP_RPM, LP_OUTER_RADIUS_MM, 60.3, 22);
    expect(Math.round(metres)).toBe(476);
    expect(Math.abs(metres / 0.3048 - 1562)).toBeLessThan(1);
    expect(grooveKilometres(1)).toBeCloseTo(1.3, 2);
    // About 1,500 feet a side (practice): within 5 %.
    expect(Math.abs(metres / 0.3048 / 1500 - 1)).toBeLessThan(0.05);
  });

  it('1,000 hours are 1,500 records of 40 minutes', () => {
    expect(recordsIn(1000, 20)).toBeCloseTo(1500, 9);
    expect(hoursOfSides(3000, 20)).toBeCloseTo(1000, 9);
  });

  it('a contact loses 0.91 dB at a quarter of the wavelength and 3.92 dB at half', () => {
    expect(contactLoss(0.25, 1)).toBeCloseTo(-0.91, 2);
    expect(contactLoss(0.5, 1)).toBeCloseTo(-3.92, 2);
    expect(contactLoss(0, 1)).toBe(0);
  });

  it.each([
    [1, 5.5],
    [3, 9.3],
    [6, 12.7],
  ])('-%d dB at 10 kHz inside: %d um', (loss, length) => {
    expect(contactForLoss(loss, wavelength(10_000, LP_RPM, LP_INNER_RADIUS_MM))).toBeCloseTo(length, 1);
  });
});

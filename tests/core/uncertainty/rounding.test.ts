import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { roundLimitUp, roundTogether } from '../../../core/uncertainty/rounding.ts';

describe('rounding value and uncertainty together (JCGM 100:2008, 7.2.6)', () => {
  it.each([
    [8.3333, 0.4567, '8.33', '0.46'],
    [8.3333, 0.996, '8.3', '1.0'],
    [0.0996, 0.0996, '0.10', '0.10'],
    [1234.5, 123, '1230', '120'],
    [1250, 96, '1250', '96'],
    [1234.5, 12.34, '1235', '12'],
    [-0.001, 0.12, '0.00', '0.12'],
    [-3, 40, '-3', '40'],
    [-0.4, 40, '0', '40'],
    [2.675, 0.12, '2.68', '0.12'],
    [100.02147, 0.00035, '100.02147', '0.00035'],
    // Value and figures of 7.2.2 and 7.2.6 of the GUM itself: 100.021 47 g with 0.35 mg; 10.057 62 ohm, 27 mohm.
    [10.05762, 0.027, '10.058', '0.027'],
  ])('%d with %d reads %s and %s', (value, expanded, v, u) => {
    expect(roundTogether(value, expanded)).toMatchObject({ value: v, expanded: u });
  });

  it('claims no uncertainty where none is known', () => {
    expect(roundTogether(12.34567, 0)).toEqual({ value: '12.35', expanded: '', decimals: 2 });
    expect(roundTogether(0, Number.NaN)).toEqual({ value: '0', expanded: '', decimals: 0 });
    expect(roundTogether(Number.NaN, 1).value).toBe('NaN');
  });

  it('stays within half a unit of the last place, with at most two digits', () => {
    const reasonable = { noNaN: true, noDefaultInfinity: true };
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, ...reasonable }),
        fc.double({ min: 1e-6, max: 1e6, ...reasonable }),
        (value, expanded) => {
          const rounded = roundTogether(value, expanded);
          const place = 10 ** -rounded.decimals;
          expect(Math.abs(Number(rounded.value) - value)).toBeLessThanOrEqual(place * 0.5000001);
          expect(Math.abs(Number(rounded.expanded) - expanded)).toBeLessThanOrEqual(place * 0.5000001);
          const digits = rounded.expanded.replace('.', '').replace(/^0+/, '').slice(0, 2);
          expect(Number(rounded.expanded) / place).toBeLessThan(100);
          expect(digits.length).toBeLessThanOrEqual(2);
          expect(rounded.value).not.toMatch(/^-0(\.0*)?$/);
        },
      ),
      { seed: 7, numRuns: 2000 },
    );
  });
});

describe('a limit is rounded upwards', () => {
  it.each([
    [5.91, '6.0'],
    [5.9, '5.9'],
    [6, '6.0'],
    [9.96, '10'],
    [12.2, '13'],
    [0.0421, '0.043'],
    [123, '130'],
  ])('%d -> %s', (limit, text) => expect(roundLimitUp(limit)).toBe(text));
});

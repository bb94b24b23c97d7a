import { describe, expect, it } from 'vitest';
import { formatMeasured, lengthUnit } from '../../renderer/format.ts';
import { flatsText } from '../../renderer/shelf/card.tsx';

describe('the widths on a card', () => {
  const flats = { leftUm: 9.75, leftExpandedUm: 0.55, rightUm: 8.6, rightExpandedUm: 1.4, unit: 'um' };

  it.each(['um', 'mil'] as const)('have the digits that the page shows, in %s', (unit) => {
    const page = (value: number, expanded: number): string =>
      formatMeasured({ value, expanded }, lengthUnit(unit)).split('\u00a0')[0];
    expect(flatsText(flats, unit)).toContain(`left ${page(9.75, 0.55)}, right ${page(8.6, 1.4)}`);
  });

  it('are not cut', () =>
    expect(flatsText(flats, 'um').replaceAll('\u00a0', ' ')).toBe('left 9.75, right 8.6 µm'));
});

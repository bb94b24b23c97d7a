import { describe, expect, it } from 'vitest';
import { formatMeasured, formatPlain } from '../../renderer/format.ts';
import { measured, plain } from '../../electron/host/sheet/format.ts';
import { grouped, inThousands } from '../../shared/index.ts';

describe('a written number', () => {
  it.each([
    ['999', '999'],
    ['1000', '1\u202f000'],
    ['-1234567', '-1\u202f234\u202f567'],
    // Only what stands before the point.
    ['1234.56789', '1\u202f234.56789'],
    ['0.12345', '0.12345'],
  ])('%s has its thousands parted by a narrow no-break space', (figure, shown) => {
    expect(inThousands(figure)).toBe(shown);
  });

  it('has a real minus sign', () => {
    expect([grouped(-1499.6), grouped(0), grouped(20_000)]).toEqual(['\u22121\u202f500', '0', '20\u202f000']);
  });

  it('reads alike in the window and on paper', () => {
    const area = { value: -1234.5, expanded: 1060 };
    expect(formatMeasured(area, { factor: 1, symbol: 'µm²' })).toBe(
      '\u22121\u202f200\u00a0±\u00a01\u202f100\u00a0µm²',
    );
    expect(measured(area, 'µm²')).toBe(formatMeasured(area, { factor: 1, symbol: 'µm²' }));
    expect([formatPlain(2500, 1, 'Hz'), plain(2500, 1, 'Hz')]).toEqual(
      Array.from({ length: 2 }, () => '2\u202f500.0\u00a0Hz'),
    );
  });
});

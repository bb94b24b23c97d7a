import { describe, expect, it } from 'vitest';
import { carriedOn, expectedLife, lateRisk, lineOf, money } from '../../renderer/stylus/costs.ts';
import {
  setUpWords,
  inOtherUnit,
  readSetUp,
  settingsBefore,
  setUpText,
} from '../../renderer/stylus/set-up.ts';
import { entryRow, stylusRow } from './fake-host.ts';

const card = (part: Parameters<typeof stylusRow>[0], hoursNow: number | null) => ({
  stylus: stylusRow({ currency: 'EUR', ...part }),
  hoursNow,
});

describe('costs', () => {
  const third = card({ name: 'third', price: 90 }, 100);
  const second = card(
    {
      name: 'second',
      price: 80,
      retired: { date: '2024-01-01', reason: 'worn', successorId: third.stylus.id },
    },
    600,
  );
  const first = card(
    {
      name: 'first',
      price: 60,
      retired: { date: '2022-01-01', reason: 'worn', successorId: second.stylus.id },
    },
    500,
  );
  const cards = [third, first, second, card({ name: 'another', price: 500 }, 3)];

  it('are carried on along the cartridge, the first stylus first', () => {
    const line = lineOf(third.stylus.id, cards);
    expect(line.map(({ name }) => name)).toEqual(['first', 'second', 'third']);
    expect(carriedOn(line)).toEqual({ price: 230, hours: 1200, currency: 'EUR' });
    expect(lineOf(first.stylus.id, cards).map(({ name }) => name)).toEqual(['first']);
  });

  it('have no sum where a price, the hours or one currency is missing, and no end where two follow each other', () => {
    const odd = { ...second, stylus: { ...second.stylus, currency: 'CHF' } };
    expect(carriedOn(lineOf(third.stylus.id, [third, odd]))).toBeNull();
    expect(carriedOn(lineOf(third.stylus.id, [third, { ...second, hoursNow: null }]))).toBeNull();
    const loop = {
      ...third,
      stylus: {
        ...third.stylus,
        retired: { date: '2025-01-01', reason: 'x', successorId: second.stylus.id },
      },
    };
    expect(lineOf(third.stylus.id, [loop, second])).toHaveLength(2);
  });

  it('count on the person’s own limit before the rated hours, and on those before common practice', () => {
    const wall = (low: number, high: number | null) =>
      ({ limit: { hours: { low, value: low, high }, dates: null } }) as never;
    const course = { left: wall(700, 1400), right: wall(900, null), hoursKnown: true };
    const rated = { ratedHours: 800 };
    expect(expectedLife(rated, course, [400, 1000])).toMatchObject({ low: 700, high: 1400 });
    expect(expectedLife(rated, { ...course, hoursKnown: false }, [400, 1000])).toMatchObject({
      low: 800,
      high: 800,
    });
    expect(expectedLife({ ratedHours: null }, null, [400, 1000])).toMatchObject({
      low: 400,
      high: 1000,
      from: 'common practice, no source',
    });
  });

  it('say what a week too late and a week too early cost', () => {
    const life = { low: 400, high: 1000, from: '' };
    const risk = lateRisk({ hoursPerWeek: 4, minutesPerSide: 20, recordValue: 25, price: 80, life });
    expect(risk.recordsPerWeek).toBeCloseTo(6, 9);
    expect(risk.worthPerWeek).toBeCloseTo(150, 9);
    expect(risk.weekEarlier).toBeCloseTo(0.8, 9);
  });

  it('are written with a no-break space and no more digits than they have', () => {
    expect(money(0.1176, 'EUR')).toBe('0.12\u00a0EUR');
    expect(money(0.0476, 'EUR')).toBe('0.048\u00a0EUR');
    expect(money(1234.5, 'kr')).toBe('1\u202f235\u00a0kr');
    expect(money(12.4, '')).toBe('12.40');
  });
});

describe('what was set on the arm', () => {
  it('is typed in millinewtons or grams (1 gram-force = 9.80665 mN, CGPM 1901) and kept in mN', () => {
    const typed = { ...setUpText(null, 'g'), trackingForceMn: '1,8', azimuthDeg: '-0.5' };
    const { setUp, errors } = readSetUp(typed);
    expect(errors).toEqual({});
    expect(setUp?.trackingForceMn).toBeCloseTo(17.652, 3);
    expect(setUp?.azimuthDeg).toBe(-0.5);
    expect(Number(inOtherUnit(typed, 'mN').trackingForceMn)).toBeCloseTo(17.652, 3);
    expect(inOtherUnit(inOtherUnit(typed, 'mN'), 'g').trackingForceMn).toBe('1.8');
    expect(readSetUp(setUpText(null)).setUp).toBeNull();
    expect(readSetUp({ ...setUpText(null), trackingForceMn: 'light' }).errors.trackingForceMn).toBeDefined();
    expect(readSetUp({ ...setUpText(null), trackingForceMn: '900' }).errors.trackingForceMn).toBeDefined();
  });

  it('shows each value with what it was before, over changes that did not touch it', () => {
    const none = readSetUp({ ...setUpText(null), trackingForceMn: '15' }).setUp!;
    const other = readSetUp({ ...setUpText(null), antiSkatingDial: '2' }).setUp!;
    const last = readSetUp({ ...setUpText(null), trackingForceMn: '17.7' }).setUp!;
    const entries = [none, other, last].map((setUp, i) => ({
      ...entryRow('stylus00001', `2024-0${i + 1}-01`, null),
      kind: 'set-up' as const,
      setUp,
    }));
    const before = settingsBefore(entries);
    expect(setUpWords(last, before.get(entries[2].id) ?? null)).toBe(
      'tracking force 17.7\u00a0mN (1.8\u00a0g), was 15\u00a0mN',
    );
    expect(setUpWords(other, before.get(entries[1].id) ?? null)).toBe('anti-skating, on the dial 2');
    expect(before.get(entries[0].id)).toBeUndefined();
  });
});

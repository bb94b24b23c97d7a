import { describe, expect, it } from 'vitest';
import {
  hoursLedger,
  presentHabit,
  type PlayedSpan,
  type PlayingTimeInput,
  RELATIVE_STANDARD,
  spanOfPlayed,
  whyNoHabit,
} from '../../../core/wear/index.ts';

const span = (from: string, to: string, hours: number, part: Partial<PlayedSpan> = {}): PlayedSpan => ({
  from,
  to,
  hours,
  knowledge: 'timed',
  ...part,
});
const input = (part: Partial<PlayingTimeInput> = {}): PlayingTimeInput => ({
  startHours: 0,
  spans: [],
  habits: [],
  until: '2024-12-31',
  ...part,
});

describe('hours on a stylus', () => {
  it('counts a day at its end and spreads a stretch over its days', () => {
    const ledger = hoursLedger(
      input({
        startHours: 10,
        spans: [span('2024-03-01', '2024-03-01', 2), span('2024-04-01', '2024-04-30', 60)],
      }),
    );
    expect(ledger.at('2024-02-29').hours).toBe(10);
    expect(ledger.at('2024-03-01').hours).toBe(12);
    expect(ledger.at('2024-04-15').hours).toBeCloseTo(42, 9);
    expect(ledger.at('2024-04-30').hours).toBeCloseTo(72, 9);
    expect(ledger.at(null).hours).toBeCloseTo(72, 9);
    expect(ledger.firstDay).toBe('2024-03-01');
  });

  it('fills only weeks without a log by the habit, and keeps that part apart', () => {
    // 1 January 2024 was a Monday: four whole weeks, one of them logged on its Wednesday.
    const habits = [{ startDate: '2024-01-01', endDate: '2024-01-28', hoursPerWeek: 7 }];
    const silent = hoursLedger(input({ habits })).at(null);
    expect(silent.byHabit).toBeCloseTo(28, 9);
    expect(silent.logged).toBe(0);
    const logged = hoursLedger(input({ habits, spans: [span('2024-01-10', '2024-01-10', 2)] })).at(null);
    expect(logged.byHabit).toBeCloseTo(21, 9);
    expect(logged.hours).toBeCloseTo(23, 9);
    // A stretch stands for its own days only.
    const stretch = hoursLedger(input({ habits, spans: [span('2024-01-10', '2024-01-12', 2)] })).at(null);
    expect(stretch.byHabit).toBeCloseTo(25, 9);
  });

  it('ends an open habit today, lets the newer of two hold, and stops at retirement', () => {
    const habits = [
      { startDate: '2024-01-01', endDate: null, hoursPerWeek: 7 },
      { startDate: '2024-01-15', endDate: null, hoursPerWeek: 14 },
    ];
    expect(hoursLedger(input({ habits, until: '2024-01-28' })).at(null).byHabit).toBeCloseTo(14 + 28, 9);
    expect(hoursLedger(input({ habits, until: '2024-01-14' })).at(null).byHabit).toBeCloseTo(14, 9);
    expect(hoursLedger(input({ habits, until: '2023-12-31' })).at(null).byHabit).toBe(0);
  });

  it('carries the uncertainty: alike errors add up, unlike ones in quadrature, a stated one by itself', () => {
    const { timed, counted, estimated, habit } = RELATIVE_STANDARD;
    const figure = hoursLedger(
      input({
        startHours: 100,
        startStandardHours: 20,
        spans: [
          span('2024-01-01', '2024-01-01', 50, { knowledge: 'counted' }),
          span('2024-01-09', '2024-01-09', 50, { knowledge: 'counted' }),
          span('2024-01-16', '2024-01-16', 30, { knowledge: 'estimated' }),
          span('2024-01-23', '2024-01-23', 40),
          span('2024-01-30', '2024-01-30', 10, { knowledge: 'stated', standardHours: 3 }),
        ],
        habits: [{ startDate: '2024-02-05', endDate: '2024-02-11', hoursPerWeek: 7 }],
      }),
    ).at(null);
    expect(figure.standard).toBeCloseTo(
      Math.hypot(20, 100 * counted, 30 * estimated, 40 * timed, 3, 7 * habit),
      9,
    );
    expect(figure.known).toBe(true);
  });

  it('says that the time before an unknown purchase is not in it', () => {
    const figure = hoursLedger(input({ startHours: null, spans: [span('2024-01-01', '2024-01-01', 5)] })).at(
      null,
    );
    expect(figure).toMatchObject({ hours: 5, known: false, atStart: 0 });
  });

  it('gives groove kilometres by speed and radii: 1.30 km an hour on a 30 cm record (computed)', () => {
    const lp = hoursLedger(input({ spans: [span('2024-01-01', '2024-01-01', 1)] })).at(null);
    expect(lp.kilometres).toBeCloseTo(1.298, 2);
    // A side of 22 min at 33 1/3: 476 m, about 1,562 ft (computed); common practice, no source: about 1,500 ft.
    const side = hoursLedger(input({ spans: [span('2024-01-01', '2024-01-01', 22 / 60)] })).at(null);
    expect(side.kilometres * 1000).toBeCloseTo(476, 0);
    expect(Math.abs((side.kilometres * 1000) / 0.3048 - 1500) / 1500).toBeLessThan(0.05);
    const groove = { rpm: 45, outerMm: 84.15, innerMm: 54 };
    const single = hoursLedger(input({ spans: [span('2024-01-01', '2024-01-01', 1, { groove })] })).at(null);
    expect(single.kilometres).toBeCloseTo((Math.PI * (84.15 + 54) * 45 * 60) / 1e6, 9);
  });

  it('knows 1,000 hours as 1,500 records of 40 minutes, some four a day for a year (common practice, no source)', () => {
    const records = (1000 * 60) / 40;
    expect(records).toBe(1500);
    expect(records / 365).toBeCloseTo(4.1, 1);
  });

  it('takes what an entry says', () => {
    const played = { amount: 3, unit: 'sides', minutesPerSide: 22, hours: 1.1, estimated: false } as const;
    expect(spanOfPlayed('2024-02-02', played)).toMatchObject({ from: '2024-02-02', knowledge: 'counted' });
    expect(spanOfPlayed('2024-02-02', { ...played, unit: 'evenings' }).knowledge).toBe('estimated');
    expect(spanOfPlayed('2024-02-02', { ...played, unit: 'hours' }).knowledge).toBe('timed');
    expect(spanOfPlayed('2024-02-02', { ...played, standardHours: 0.5, from: '2024-01-02' })).toMatchObject({
      knowledge: 'stated',
      standardHours: 0.5,
      from: '2024-01-02',
    });
  });
});

describe('the present habit', () => {
  const weekly = Array.from({ length: 60 }, (_, i) => {
    const date = new Date(Date.UTC(2023, 0, 1) + i * 7 * 86_400_000).toISOString().slice(0, 10);
    return span(date, date, i < 30 ? 2 : 5);
  });

  it('is the mean of the last half year, or the habit that goes on', () => {
    const ledger = hoursLedger(input({ spans: weekly }));
    const habit = presentHabit(ledger, [], '2024-02-18');
    expect(habit?.from).toBe('last half year');
    expect(habit?.hoursPerWeek).toBeCloseTo(5, 1);
    const going = [{ startDate: '2024-01-01', endDate: null, hoursPerWeek: 3 }];
    expect(presentHabit(ledger, going, '2024-02-18')).toEqual({ hoursPerWeek: 3, from: 'weekly habit' });
  });

  it('is not known after less than four weeks', () => {
    const ledger = hoursLedger(input({ spans: weekly.slice(0, 2) }));
    expect(presentHabit(ledger, [], '2023-01-12')).toBeNull();
    expect(presentHabit(ledger, [], '2023-03-01')?.from).toBe('since it began');
    expect(presentHabit(hoursLedger(input()), [], '2023-03-01')).toBeNull();
  });

  it('says why it is not known, and never that many hours on one day are too few', () => {
    const ledger = hoursLedger(input({ spans: [span('2024-05-01', '2024-05-01', 44)] }));
    for (const [today, why] of [
      ['2024-05-02', /first playing time is less than four weeks old/],
      ['2025-02-01', /^Nothing was played in the last half year/],
    ] as const) {
      expect(presentHabit(ledger, [], today)).toBeNull();
      expect(whyNoHabit(ledger, today)).toMatch(why);
    }
    expect(whyNoHabit(hoursLedger(input()), '2024-05-02')).toMatch(/^No playing time is entered/);
  });
});

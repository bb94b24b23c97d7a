import { beforeAll, describe, expect, it } from 'vitest';
import { commandOf } from '../../electron/daybook/arguments.ts';
import { mustHaveHappened } from '../../electron/host/happened.ts';
import { Refusal } from '../../shared/index.ts';
import { buildHost, DRAFT, temporaryFolder, testHost } from './support.ts';

beforeAll(buildHost);

describe('what goes into the daybook has happened', () => {
  const today = '2025-02-28';

  it('up to tomorrow, for clocks and the date line', () => {
    for (const day of ['1950-01-01', '2025-02-28', '2025-03-01', '2025-03-01T23:59', null, undefined])
      expect(() => mustHaveHappened([day], today), `${day}`).not.toThrow();
  });

  it('or is refused with its day, wherever in the list it stands', () => {
    for (const day of ['2025-03-02', '2035-01-01', '2025-03-02T00:00:01'])
      expect(() => mustHaveHappened(['2024-01-01', day], today), day).toThrow(Refusal);
    expect(() => mustHaveHappened(['2035-01-01T10:00'], today)).toThrow(
      '1\u00a0Jan\u00a02035 lies in the future. Look at the year.',
    );
  });
});

describe('playing time of a stylus with a day since which it is in use', () => {
  it('is refused before that day, added or edited; other entries are not', async () => {
    const host = await testHost(temporaryFolder());
    const { id: stylusId } = await host.ask('stylus.create', { ...DRAFT, startDate: '2024-01-05' });
    const played = { amount: 2, unit: 'hours', minutesPerSide: 21, hours: 2, estimated: false } as const;
    const on = (date: string, from: string | null = null) => ({
      stylusId,
      kind: 'playing' as const,
      date,
      played: { ...played, from },
      text: '',
    });
    const { id } = await host.ask('entry.add', on('2024-01-05'));
    const sentence = 'in use since 5\u00a0Jan\u00a02024';
    await expect(host.ask('entry.add', on('2024-01-04'))).rejects.toThrow(sentence);
    await expect(host.ask('entry.add', on('2024-01-09', '2024-01-04'))).rejects.toThrow(sentence);
    await expect(host.ask('entry.update', { id, draft: on('2024-01-04') })).rejects.toThrow(sentence);
    await host.ask('entry.add', { stylusId, kind: 'note', date: '2024-01-04', played: null, text: 'bought' });
    const { stylus, entries } = await host.ask('stylus.page', { id: stylusId });
    expect(entries).toHaveLength(2);
    // Nor does that day move past what was played.
    const since = (startDate: string | null) => {
      const { id: _id, createdAt: _at, demo: _demo, binnedAt: _bin, retired: _end, ...draft } = stylus;
      return host.ask('stylus.update', { id: stylusId, draft: { ...draft, startDate } });
    };
    await expect(since('2024-01-06')).rejects.toThrow('stands in the daybook from 5\u00a0Jan\u00a02024 on');
    expect((await since('2023-12-01')).startDate).toBe('2023-12-01');
    expect((await since('2024-01-05')).startDate).toBe('2024-01-05');
  });

  it('is no habit before that day either', async () => {
    const host = await testHost(temporaryFolder());
    const { id: stylusId } = await host.ask('stylus.create', { ...DRAFT, startDate: '2024-01-05' });
    const usual = { amount: 2, unit: 'hours', minutesPerSide: 21, sidesPerEvening: 4 } as const;
    const from = (startDate: string) =>
      host.ask('habit.add', { stylusId, ...usual, hoursPerWeek: 2, startDate, endDate: null, text: '' });
    await expect(from('2024-01-04')).rejects.toThrow('in use since 5\u00a0Jan\u00a02024');
    expect((await from('2024-01-05')).startDate).toBe('2024-01-05');
  });
});

describe('a number below zero on the command line', () => {
  it('is told from an option', () => {
    const args = ['examine', '--image', 'worn.png', '--scale', '-3', '--view', 'front'];
    expect(() => commandOf(args)).toThrow('--scale -3: a number greater than zero is needed.');
  });
});

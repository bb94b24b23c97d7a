import { describe, expect, it } from 'vitest';
import { readAmount, readDate } from '../../electron/host/plays/cells.ts';
import { readCsv } from '../../electron/host/plays/read-csv.ts';
import type { InputOf, PlayMapping } from '../../shared/index.ts';
import { DRAFT, temporaryFolder, testHost, type TestHost } from './support.ts';

const bytes = (text: string): Uint8Array<ArrayBuffer> => new Uint8Array(new TextEncoder().encode(text));

async function started(part: Partial<typeof DRAFT> = {}): Promise<{ host: TestHost; stylusId: string }> {
  const host = await testHost(temporaryFolder());
  const stylus = await host.ask('stylus.create', { ...DRAFT, startHours: 0, ...part });
  return { host, stylusId: stylus.id };
}
const question = (
  text: string,
  stylusId: string,
  mapping: PlayMapping | null = null,
): InputOf<'plays.import'> => ({
  bytes: bytes(text),
  stylusId,
  mapping,
  minutesPerSide: 20,
  jobId: 'a-list',
});

describe('a weekly habit', () => {
  const habit = (stylusId: string): InputOf<'habit.add'> => ({
    stylusId,
    startDate: '2024-01-01',
    endDate: '2024-01-28',
    amount: 5,
    unit: 'records',
    minutesPerSide: 21,
    sidesPerEvening: 4,
    hoursPerWeek: 3.5,
    text: '',
  });

  it('fills weeks without a log, gives way to logged time, and goes into the bin and back', async () => {
    const { host, stylusId } = await started();
    const made = await host.ask('habit.add', habit(stylusId));
    const hours = async () => (await host.ask('stylus.page', { id: stylusId })).hoursNow;
    expect(await hours()).toBeCloseTo(14, 9);
    const played = { amount: 2, unit: 'hours', minutesPerSide: 21, hours: 2, estimated: false } as const;
    await host.ask('entry.add', { stylusId, kind: 'playing', date: '2024-01-10', played, text: '' });
    expect(await hours()).toBeCloseTo(10.5 + 2, 9);
    const shorter = { ...habit(stylusId), endDate: '2024-01-14' };
    await host.ask('habit.update', { id: made.id, draft: shorter });
    expect(await hours()).toBeCloseTo(3.5 + 2, 9);
    await host.ask('bin.put', { kind: 'habit', id: made.id });
    expect(await hours()).toBeCloseTo(2, 9);
    await host.ask('bin.takeBack', { kind: 'habit', id: made.id });
    expect((await host.ask('stylus.page', { id: stylusId })).habits).toHaveLength(1);
  });

  it('refuses to end before it begins', async () => {
    const { host, stylusId } = await started();
    await expect(host.ask('habit.add', { ...habit(stylusId), endDate: '2023-12-31' })).rejects.toThrow(
      /before it begins/,
    );
  });
});

const SEMICOLON = [
  'Datum;Titel;Dauer (min)',
  '31.03.2024;"Streichquartett; zweite Seite";21,5',
  '01.04.2024;"He said ""again""";22',
  '31.04.2024;Kein Tag;22',
  '02.04.2024;Ohne Dauer;',
  '01.01.2099;Zukunft;10',
].join('\r\n');

describe('a play list', () => {
  it('is read with semicolons, decimal commas, quotes and named columns, and says what it refuses', async () => {
    const { host, stylusId } = await started();
    const list = await host.ask('plays.read', question(SEMICOLON, stylusId));
    expect(list.delimiter).toBe(';');
    expect(list.mapping).toMatchObject({
      header: true,
      date: 0,
      title: 1,
      amount: 2,
      unit: 'minutes',
      dateOrder: 'day-month-year',
    });
    expect(list.doubts).toEqual([]);
    expect(list.counts).toEqual({ new: 2, known: 0, refused: 3 });
    expect(list.hours).toBeCloseTo(43.5 / 60, 9);
    expect(list.preview.map(({ date, title }) => [date, title]).slice(0, 2)).toEqual([
      ['2024-03-31', 'Streichquartett; zweite Seite'],
      ['2024-04-01', 'He said "again"'],
    ]);
    expect(list.refused.map(({ row, reason }) => [row, reason])).toEqual([
      [4, '“31.04.2024” is no day of the calendar in the chosen order.'],
      [5, 'There is no amount.'],
      [6, 'The date lies in the future.'],
    ]);
    // Looking changes nothing.
    expect((await host.ask('stylus.page', { id: stylusId })).entries).toEqual([]);
  });

  it('comes in once: the same file, a longer one, and other columns bring nothing twice', async () => {
    const { host, stylusId } = await started();
    const list = 'date,title,sides\n2024-05-01,A,2\n2024-05-01,A,2\n2024-05-02,B,1\n';
    expect(await host.ask('plays.import', question(list, stylusId))).toEqual({
      added: 3,
      known: 0,
      refused: 0,
    });
    const page = await host.ask('stylus.page', { id: stylusId });
    expect(page.hoursNow).toBeCloseTo((5 * 20) / 60, 9);
    await expect(host.ask('plays.import', question(list, stylusId))).rejects.toThrow(
      /No row of this list is new/,
    );
    const longer = `${list}2024-05-03,C,2\n2024-05-01,A,2\n`;
    expect((await host.ask('plays.read', question(longer, stylusId))).counts).toEqual({
      new: 2,
      known: 3,
      refused: 0,
    });
    const turned = 'title,rating,date,sides\nA,5,2024-05-01,2\nB,3,2024-05-02,1\n';
    expect((await host.ask('plays.read', question(turned, stylusId))).counts).toEqual({
      new: 0,
      known: 2,
      refused: 0,
    });
  });

  it('is one step of undo, and may come in again after it', async () => {
    const { host, stylusId } = await started();
    const list = 'date,title,sides\n2024-05-01,A,2\n2024-05-02,B,1\n';
    await host.ask('plays.import', question(list, stylusId));
    await host.ask('history.undo', { number: null });
    expect((await host.ask('stylus.page', { id: stylusId })).entries).toEqual([]);
    expect((await host.ask('plays.read', question(list, stylusId))).counts).toEqual({
      new: 2,
      known: 0,
      refused: 0,
    });
    expect((await host.ask('plays.import', question(list, stylusId))).added).toBe(2);
    // Taken back and done again, it is known again.
    await host.ask('history.undo', { number: null });
    await host.ask('history.redo', { number: null });
    expect((await host.ask('plays.read', question(list, stylusId))).counts.known).toBe(2);
  });

  it('may come in for another stylus once the one it came in for is in the bin', async () => {
    const { host, stylusId } = await started();
    const list = 'date,title,sides\n2024-05-01,A,2\n2024-05-02,B,1\n';
    await host.ask('plays.import', question(list, stylusId));
    const other = await host.ask('stylus.create', { ...DRAFT, name: 'The right one' });
    expect((await host.ask('plays.read', question(list, other.id))).counts.known).toBe(2);
    await host.ask('bin.put', { kind: 'stylus', id: stylusId });
    expect((await host.ask('plays.import', question(list, other.id))).added).toBe(2);
    expect((await host.ask('stylus.page', { id: other.id })).entries).toHaveLength(2);
  });

  it('goes to the deck that a row names, on the day it was there', async () => {
    const { host, stylusId } = await started({ name: 'First', deck: 'Kitchen', startDate: '2024-01-01' });
    const second = await host.ask('stylus.create', {
      ...DRAFT,
      name: 'Second',
      deck: 'Study',
      startDate: '2024-01-01',
    });
    const list =
      'date,album,minutes,turntable\n2024-05-01,A,40,kitchen\n2024-05-02,B,38:30,Study\n2024-05-03,C,40,Attic\n';
    const read = await host.ask('plays.read', question(list, stylusId));
    expect(read.mapping.deck).toBe(3);
    expect(read.preview.map(({ stylusName, state }) => [stylusName, state])).toEqual([
      ['First', 'new'],
      ['Second', 'new'],
      [null, 'refused'],
    ]);
    await host.ask('plays.import', question(list, stylusId));
    const [entry] = (await host.ask('stylus.page', { id: second.id })).entries;
    expect(entry.played?.hours).toBeCloseTo(38.5 / 60, 9);
    expect(entry.text).toBe('B');
  });

  it('refuses what was played before its stylus came into use, and brings in the rest', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', { ...DRAFT, name: 'Late', startDate: '2024-05-02' });
    const list = 'date,album,minutes\n2024-05-01,A,40\n2024-05-02,B,38\n';
    const read = await host.ask('plays.read', question(list, stylus.id));
    expect(read.refused.map(({ row, reason }) => [row, reason])).toEqual([
      [2, expect.stringMatching(/^“Late” has been in use only since 2\sMay\s2024\./)],
    ]);
    await host.ask('plays.import', question(list, stylus.id));
    const { entries } = await host.ask('stylus.page', { id: stylus.id });
    expect(entries.map(({ text }) => text)).toEqual(['B']);
  });

  it('asks when day and month could be either way round', async () => {
    const { host, stylusId } = await started();
    const list = 'date,minutes\n03/04/2024,20\n05/06/2024,20\n';
    const read = await host.ask('plays.read', question(list, stylusId));
    expect(read.doubts.join(' ')).toMatch(/either way round/);
    const american = { ...read.mapping, dateOrder: 'month-day-year' as const };
    expect((await host.ask('plays.read', question(list, stylusId, american))).preview[0].date).toBe(
      '2024-03-04',
    );
    const clear = 'date,minutes\n12/31/2024,20\n';
    expect((await host.ask('plays.read', question(clear, stylusId))).mapping.dateOrder).toBe(
      'month-day-year',
    );
  });

  it('keeps a formula as the text it is, and refuses what is no list', async () => {
    const { host, stylusId } = await started();
    const list = 'date,title,minutes\n2024-05-01,"=HYPERLINK(""x"")",20\n';
    await host.ask('plays.import', question(list, stylusId));
    expect((await host.ask('stylus.page', { id: stylusId })).entries[0].text).toBe('=HYPERLINK("x")');
    await expect(host.ask('plays.read', question('', stylusId))).rejects.toThrow(/empty/);
    await expect(host.ask('plays.read', question('\0PNG', stylusId))).rejects.toThrow(/no table of text/);
    const open = 'date,title,minutes\n2024-05-01,"never closed,20\n';
    const read = await host.ask('plays.read', question(open, stylusId));
    expect(read.counts.refused).toBe(1);
    expect(read.refused[0].reason).toMatch(/never closed/);
  });

  it('takes 20,000 rows in one step', async () => {
    const { host, stylusId } = await started({ startDate: '2014-01-01' });
    const day = (i: number): string =>
      new Date(Date.UTC(2014, 0, 1) + (i >> 1) * 17_000_000).toISOString().slice(0, 10);
    const rows = Array.from({ length: 20_000 }, (_, i) => `${day(i)},Record ${i},${18 + (i % 7)}`);
    const list = `date,title,minutes\n${rows.join('\n')}\n`;
    const before = performance.now();
    expect((await host.ask('plays.import', question(list, stylusId))).added).toBe(20_000);
    console.log(`20,000 rows brought in: ${Math.round(performance.now() - before)} ms`);
    const opened = performance.now();
    const page = await host.ask('stylus.page', { id: stylusId });
    console.log(`page of 20,000 entries from the host: ${Math.round(performance.now() - opened)} ms`);
    expect(page.entries).toHaveLength(20_000);
    // One step of undo, and back, and nothing of it comes in a second time.
    await host.ask('history.undo', { number: null });
    expect((await host.ask('stylus.page', { id: stylusId })).entries).toEqual([]);
    await host.ask('history.redo', { number: null });
    expect((await host.ask('stylus.page', { id: stylusId })).entries).toEqual(page.entries);
    await expect(host.ask('plays.import', question(list, stylusId))).rejects.toThrow(/No row of this list/);
  }, 60_000);

  it('tells how far it is, answers others meanwhile, and leaves nothing when it is stopped', async () => {
    const { host, stylusId } = await started();
    const rows = Array.from({ length: 20_000 }, (_, i) => `2024-01-${10 + (i % 20)},Record ${i},20`);
    const list = `date,title,minutes\n${rows.join('\n')}\n`;
    const seen: number[] = [];
    const heard = host.listen((name, event) => {
      if (name !== 'progress') return;
      seen.push((event as { fraction: number }).fraction);
      if (seen.length === 5) void host.ask('job.cancel', { jobId: 'a-list' });
    });
    await expect(host.ask('plays.import', question(list, stylusId))).rejects.toThrow(/Cancelled/);
    heard();
    expect(seen.length).toBeGreaterThanOrEqual(5);
    expect(seen.length).toBeLessThan(20);
    expect(seen).toEqual(seen.toSorted((a, b) => a - b));
    expect((await host.ask('stylus.page', { id: stylusId })).entries).toEqual([]);
    expect((await host.ask('plays.read', question(list, stylusId))).counts.new).toBe(20_000);
    // Two at the same time bring in each row once.
    const [one, two] = await Promise.allSettled([
      host.ask('plays.import', question(list, stylusId)),
      host.ask('plays.import', { ...question(list, stylusId), jobId: 'again' }),
    ]);
    expect([one.status, two.status].toSorted()).toEqual(['fulfilled', 'rejected']);
    expect((await host.ask('stylus.page', { id: stylusId })).entries).toHaveLength(20_000);
  }, 60_000);
});

describe('the end of a stylus', () => {
  it('stands on its own timeline and on its successor’s, once, in one step of undo', async () => {
    const { host, stylusId } = await started({ name: 'Old' });
    const next = await host.ask('stylus.create', { ...DRAFT, name: 'New' });
    const end = { id: stylusId, date: '2024-05-01', reason: 'worn', successorId: next.id };
    await host.ask('stylus.retire', end);
    const texts = async (id: string) =>
      (await host.ask('stylus.page', { id })).entries.map(({ text }) => text);
    expect(await texts(stylusId)).toEqual(['Retired: worn. Followed by “New”.']);
    expect(await texts(next.id)).toEqual(['Follows “Old” on the same cartridge.']);
    await host.ask('stylus.retire', { ...end, reason: 'worn: left first' });
    expect(await texts(stylusId)).toHaveLength(1);
    expect(await texts(next.id)).toHaveLength(1);
    await host.ask('history.undo', { number: null });
    await host.ask('history.undo', { number: null });
    expect((await host.ask('stylus.page', { id: stylusId })).stylus.retired).toBeNull();
    expect(await texts(next.id)).toEqual([]);
  });
});

describe('cells', () => {
  it.each([
    ['1234.5', 1234.5],
    ['1234,5', 1234.5],
    ['1.234,5', 1234.5],
    ['1,234.5', 1234.5],
    ['1 234,5', 1234.5],
    ['22', 22],
  ])('reads the amount %s', (text, value) => expect(readAmount(text).value).toBe(value));
  it.each(['', 'abc', '-3', '0', '1e3'])('reads no amount from "%s"', (text) =>
    expect(readAmount(text).wrong).toMatch(/\.$/),
  );
  it.each([
    ['2024-03-31', 'day-month-year', '2024-03-31'],
    ['2024-03-31T20:15:00Z', 'day-month-year', '2024-03-31'],
    ['31.3.2024', 'day-month-year', '2024-03-31'],
    ['3/31/2024 8:15 PM', 'month-day-year', '2024-03-31'],
    ['2024/3/1', 'month-day-year', '2024-03-01'],
  ] as const)('reads the date %s', (text, order, value) => expect(readDate(text, order).value).toBe(value));
  it.each(['31.3.24', '2024-02-30', 'yesterday', '', '1.1.1900'])('reads no date from "%s"', (text) =>
    expect(readDate(text, 'day-month-year').wrong).toMatch(/\.$/),
  );
  it('knows encodings by their mark, else UTF-8, else the old code page', () => {
    expect(readCsv(new Uint8Array([0xff, 0xfe, 0x41, 0, 0x2c, 0, 0x42, 0])).rows).toEqual([['A', 'B']]);
    expect(readCsv(new Uint8Array([0x4d, 0xfc, 0x6c, 0x6c, 0x2c, 0x31])).rows).toEqual([['Müll', '1']]);
    expect(readCsv(new Uint8Array([0xef, 0xbb, 0xbf, 0x41, 0x09, 0x42])).rows).toEqual([['A', 'B']]);
  });
});

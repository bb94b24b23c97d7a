import ICAL from 'ical.js';
import { beforeAll, describe, expect, it } from 'vitest';
import { calendarFile, escapeText, foldLine, stampValue } from '../../../electron/host/calendar/ical.ts';
import type { InputOf } from '../../../shared/index.ts';
import { DRAFT, addPicture, buildHost, picture, temporaryFolder, testHost } from '../support.ts';

beforeAll(buildHost, 120_000);

const unfold = (text: string): string => text.replaceAll(/\r\n[ \t]/g, '');

describe('content lines (RFC 5545, 3.1)', () => {
  it('folds the RFC’s own example so that it reads as the same line', () => {
    const line = 'DESCRIPTION:This is a long description that exists on a long line.';
    // The three foldings that the RFC prints for it.
    const printed = ['DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.', line];
    for (const folded of printed) expect(unfold(folded)).toBe(line);
    expect(unfold(foldLine(line))).toBe(line);
    expect(foldLine(line)).toBe(line);
  });

  it.each([
    'a'.repeat(74),
    'a'.repeat(75),
    'a'.repeat(76),
    'a'.repeat(400),
    'µ'.repeat(200),
    '𝄞é'.repeat(90),
  ])('keeps every line at 75 octets or less and no character in two', (text) => {
    const folded = foldLine(`SUMMARY:${text}`);
    for (const line of folded.split('\r\n')) {
      expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
      expect(line).not.toContain('\ufffd');
      expect(Buffer.from(line).toString('utf8')).toBe(line);
    }
    expect(unfold(folded)).toBe(`SUMMARY:${text}`);
  });
});

describe('text values (RFC 5545, 3.3.11)', () => {
  it('escapes the RFC’s own example as it is printed there', () => {
    expect(escapeText('Project XYZ Final Review\nConference Room - 3B\nCome Prepared.')).toBe(
      'Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared.',
    );
  });
  it('escapes backslash, semicolon and comma, leaves the colon, drops control characters', () => {
    expect(escapeText('a\\b;c,d:e\r\nf\u0007g')).toBe('a\\\\b\\;c\\,d:e\\nfg');
  });
  it('writes a UTC time as the RFC does (3.3.5)', () => {
    expect(stampValue(new Date('1997-07-14T17:00:00Z'))).toBe('19970714T170000Z');
  });
});

describe('the file', () => {
  const nasty = 'Line; stylus, green\\guard\nEND:VEVENT — µ𝄞 ' + 'x'.repeat(120);
  it('is read by an independent reader with every word intact', () => {
    const text = calendarFile(
      [
        {
          uid: 'next-look-abc@stylus-daybook.invalid',
          date: '2026-02-28',
          summary: nasty,
          description: nasty,
        },
      ],
      new Date('2026-01-10T09:00:00Z'),
    );
    expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
    const calendar = new ICAL.Component(ICAL.parse(text) as unknown[]);
    const events = calendar.getAllSubcomponents('vevent').map((one) => new ICAL.Event(one));
    expect(events).toHaveLength(1);
    expect(events[0].summary).toBe(nasty);
    expect(events[0].description).toBe(nasty);
    expect(events[0].startDate.isDate).toBe(true);
    expect(events[0].startDate.toString()).toBe('2026-02-28');
    // The end of an all-day event is the day after it (3.6.1).
    expect(events[0].endDate.toString()).toBe('2026-03-01');
    expect(calendar.getFirstPropertyValue('version')).toBe('2.0');
  });
});

describe('what is due', () => {
  const question = { today: '2024-06-01', practiceHours: [400, 1000] as [number, number] };

  it('lists every stylus in use with its rule, the earliest first, and saves it as a calendar', async () => {
    const host = await testHost(temporaryFolder());
    const never = await host.ask('stylus.create', { ...DRAFT, name: 'Never, looked; at' });
    const looked = await host.ask('stylus.create', { ...DRAFT, name: 'Looked at' });
    const gone = await host.ask('stylus.create', { ...DRAFT, name: 'Gone' });
    await host.ask('stylus.retire', { id: gone.id, date: '2024-05-01', reason: 'worn', successorId: null });
    await addPicture(host, looked.id, await picture(), { isBaseline: true });
    const broken = await host.ask('stylus.create', { ...DRAFT, name: 'Broken' });
    const chipped = await addPicture(host, broken.id, await picture(60));
    const chip: InputOf<'mark.add'>['draft'] = {
      stylusId: broken.id,
      view: 'front',
      captureId: chipped.id,
      kind: 'chip',
      state: 'suspected',
      frame: 'picture',
      unit: 'px',
      shape: { type: 'point', at: [10, 12] },
      size: null,
      note: '',
      seenBy: '',
      seenOn: '2024-03-01',
      proposed: null,
    };
    const mark = await host.ask('mark.add', { draft: chip });
    expect((await host.ask('looks.list', question)).map(({ name }) => name)).toContain('Broken');
    // Confirmed, it is off: nobody plans to look at it again.
    await host.ask('mark.update', { id: mark.id, draft: { ...chip, state: 'confirmed' } });
    const looks = await host.ask('looks.list', question);
    expect(looks.map(({ name, look }) => [name, look.date, look.why])).toEqual([
      ['Never, looked; at', '2024-06-01', 'There is no dated picture yet.'],
      ['Looked at', '2024-09-01', 'Six months after the last look.'],
    ]);
    expect(looks[1].look.rules.length).toBeGreaterThan(3);
    const late = { ...question, today: '2025-01-10' };
    expect(
      (await host.ask('looks.list', late)).find(({ stylusId }) => stylusId === looked.id)?.look.overdue,
    ).toBe(true);
    const { bytes, fileName, count } = await host.ask('looks.calendar', late);
    expect(fileName).toMatch(/\.ics$/);
    expect(count).toBe(2);
    const calendar = new ICAL.Component(ICAL.parse(new TextDecoder().decode(bytes)) as unknown[]);
    const events = calendar.getAllSubcomponents('vevent').map((one) => new ICAL.Event(one));
    expect(events.map((event) => event.summary)).toContain('Look at the stylus: Never, looked; at');
    // What is overdue stands on today.
    expect(events.map((event) => event.startDate.toString())).toEqual(['2025-01-10', '2025-01-10']);
    expect(new Set(events.map((event) => event.uid)).size).toBe(2);
    expect(events.find((event) => event.uid.includes(never.id))).toBeDefined();
  });

  it('says so when nothing is there', async () => {
    const host = await testHost(temporaryFolder());
    await expect(host.ask('looks.calendar', question)).rejects.toThrow(/no stylus in use/);
  });
});

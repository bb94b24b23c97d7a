import { describe, expect, it } from 'vitest';
import { dateText, readDate } from '../../renderer/importing/dates.ts';
import { openForm, readForm } from '../../renderer/marks/mark-form.ts';
import { dayError, playingDays } from '../../renderer/ui/day.ts';
import type { MarkDraft } from '../../shared/index.ts';

const FUTURE = '1\u00a0Jan\u00a02999 lies in the future. Look at the year.';

describe('a day in a field', () => {
  it('is asked for, and taken up to a day ahead, for the date line', () => {
    const of = (day: string) => dayError(day, undefined, '2024-02-28');
    expect(['', '2024-02-28', '2024-02-29'].map(of)).toEqual(['Choose the day.', null, null]);
    expect(of('2024-03-01')).toBe('1\u00a0Mar\u00a02024 lies in the future. Look at the year.');
  });

  it('of a picture is refused where it is typed, and where a camera had it', () => {
    expect(readDate({ ...dateText(null), day: '2999-01-01' })).toEqual({ taken: null, error: FUTURE });
    const found = { wall: '2999-01-01T10:00', offset: null, source: 'exif' as const };
    expect(readDate(dateText(found)).error).toBe(FUTURE);
    expect(readDate({ ...dateText(found), unknown: true })).toEqual({ taken: null, error: null });
  });

  it('of a mark is refused at its field', () => {
    const draft: MarkDraft = {
      stylusId: 'stylus0001',
      captureId: 'capture001',
      view: 'front',
      kind: 'chip',
      state: 'confirmed',
      frame: 'tip',
      unit: 'um',
      shape: { type: 'point', at: [0, 0] },
      size: null,
      note: '',
      seenBy: '',
      seenOn: '2999-01-01',
      proposed: null,
    };
    const { errors } = readForm(
      openForm(draft, 'um'),
      { unit: 'um', factor: 1, pointing: 1, relative: 0 },
      'um',
    );
    expect(errors).toEqual({ seenOn: FUTURE });
  });
});

describe('the days of a playing time', () => {
  const of = (date: string, from: string, since: string | null) =>
    playingDays(date, from, since, '2024-06-01');

  it('lie on or after the day that the stylus came into use, which is named', () => {
    const before = expect.stringMatching(
      /in use since 5\sJan\s2024\. Choose that day or a later one/,
    ) as string;
    expect(of('2024-01-05', '', '2024-01-05')).toEqual({ date: null, from: null });
    expect(of('2024-01-04', '', '2024-01-05')).toEqual({ date: before, from: null });
    expect(of('2024-01-09', '2024-01-04', '2024-01-05')).toEqual({ date: null, from: before });
    expect(of('1999-01-04', '', null)).toEqual({ date: null, from: null });
  });

  it('do not lie in the future, and end after they begin', () => {
    expect(of('2025-06-01', '', null).date).toContain('lies in the future');
    expect(of('2024-05-01', '2024-05-02', null).from).toBe('It begins after its last day.');
  });
});
